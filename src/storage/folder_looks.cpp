// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/folder_looks.hpp"

#include <sys/stat.h>

#include <algorithm>
#include <ctime>
#include <system_error>

#include "storage/folder_names.hpp"

namespace evenwall::internal::storage {
namespace {

namespace fs = std::filesystem;
using std::chrono::milliseconds;

constexpr milliseconds kBetweenLooks{1000};   // without notices, or while a file is awaited
constexpr milliseconds kBetweenChecks{5000};  // with notices: a folder whose parent was renamed causes none
constexpr int kShareOfTime = 400;             // looks at a large folder take at most a 400th of the time

std::int64_t nanoseconds_of(const timespec& time) { return time.tv_sec * 1'000'000'000 + time.tv_nsec; }

/// The time since the file was written, at most kGivenUp. A time in the future shows nothing: the file may come from a machine with another
/// clock, or a program has set the time. Then the time since its entry was changed counts, which no program can set.
milliseconds age_of(const fs::path& path, const FileStamp& stamp) {
  timespec clock{};
  ::clock_gettime(CLOCK_REALTIME, &clock);
  const std::int64_t now_ns = nanoseconds_of(clock);
  std::int64_t written_ns = stamp.modified_ns;
  struct stat status {};
  if (written_ns > now_ns && ::stat(path.c_str(), &status) == 0) written_ns = nanoseconds_of(status.st_ctim);
  return std::clamp(milliseconds((now_ns - written_ns) / 1'000'000), milliseconds(0), FolderLooks::kGivenUp);
}

}  // namespace

FolderLooks::FolderLooks(fs::path folder, Rules rules, std::unique_ptr<FolderNotices> notices)
    : folder_(std::move(folder)), rules_(std::move(rules)), notices_(std::move(notices)) {
  struct stat status {};
  if (::stat(folder_.c_str(), &status) == 0) identity_ = identity_of(status);
}

void FolderLooks::gather() {
  if (!notices_) return;
  Notices more = notices_->take();
  gathered_.closed.merge(more.closed);
  gathered_.lost = gathered_.lost || more.lost;
  if (more.ended) notices_.reset();
}

/// Another folder may have got the name. The notices are then those of the old folder, and a confined process cannot ask for new ones.
bool FolderLooks::folder_is_there() {
  struct stat status {};
  const bool is_there = ::stat(folder_.c_str(), &status) == 0 && S_ISDIR(status.st_mode);
  if (is_there && identity_of(status) == identity_) return true;
  notices_.reset();
  if (is_there) identity_ = identity_of(status);
  return is_there;
}

void FolderLooks::see(const std::string& name, const FileStamp& stamp, Clock::time_point now) {
  const auto [at, is_new] = files_.try_emplace(name);
  Seen& seen = at->second;
  seen.there = true;
  if (is_new || !(seen.stamp == stamp)) {
    const bool listed = seen.listed;
    seen = {.stamp = stamp, .since = now, .found = is_first_, .unsure = is_first_, .listed = listed};
    if (is_first_) seen.since -= age_of(folder_ / name, stamp);
  }
  seen.closed = seen.closed || gathered_.closed.contains(name);
  seen.unsure = seen.unsure || gathered_.lost;
}

bool FolderLooks::is_finished(const std::string& name, const Seen& seen, Clock::time_point now) const {
  const auto at_rest = now - seen.since;
  if (at_rest >= (seen.found ? kGivenUpAtFirst : kGivenUp)) return true;
  if (!seen.closed && at_rest < kSettled) return false;
  if (!seen.closed && notices_ && !seen.unsure) return false;
  return rules_.is_whole(folder_ / name);
}

FolderChanges FolderLooks::look(Clock::time_point now) {
  const auto start = Clock::now();
  FolderChanges changes;
  gather();
  std::error_code failed;
  std::vector<std::string> names;
  bool is_there = folder_is_there();
  if (is_there) names = names_in(folder_, failed);
  is_there = is_there && (!failed || !names.empty());
  changes.left = was_there_ && !is_there;
  changes.back = !was_there_ && is_there;
  was_there_ = is_there;
  if (!is_there) {
    files_.clear();
    is_first_ = true;
    return changes;
  }
  for (auto& [name, seen] : files_) seen.there = false;
  for (const std::string& name : names) {
    if (!rules_.followed(name)) continue;
    if (const auto stamp = stamp_of(folder_ / name)) see(name, *stamp, now);
  }
  if (failed) {  // the rest of the folder is unknown
    for (auto& [name, seen] : files_) seen.there = true;
  }
  for (auto at = files_.begin(); at != files_.end();) {
    auto& [name, seen] = *at;
    if (!seen.there) {
      if (seen.listed) changes.gone.push_back(name);
      at = files_.erase(at);
      continue;
    }
    if (!seen.finished && is_finished(name, seen, now)) {
      seen.finished = seen.listed = true;
      changes.finished.push_back(name);
    }
    ++at;
  }
  gathered_ = {};
  is_first_ = false;
  cost_ = std::chrono::duration_cast<milliseconds>(Clock::now() - start);
  return changes;
}

milliseconds FolderLooks::pause() const {
  const bool awaits = std::any_of(files_.begin(), files_.end(), [](const auto& file) { return !file.second.finished; });
  const milliseconds wanted = notices_ && !awaits ? kBetweenChecks : kBetweenLooks;
  return std::max(wanted, kShareOfTime * cost_);
}

bool FolderLooks::is_awaited(const std::string& name) const {
  const auto at = files_.find(name);
  return at != files_.end() && !at->second.finished;
}

void FolderLooks::accept(const std::string& name) {
  const auto stamp = stamp_of(folder_ / name);
  if (!stamp) return;
  Seen& seen = files_[name];
  seen.stamp = *stamp;
  seen.finished = seen.listed = true;
}

}  // namespace evenwall::internal::storage
