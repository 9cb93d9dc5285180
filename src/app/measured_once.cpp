// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/measured_once.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <system_error>

#include "base/text.hpp"
#include "storage/file_stamp.hpp"

namespace evenwall::internal::app {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t kMostKept = 6000;  // more than the steps of the longest session; each takes some kilobytes

/// Everything on which a measurement depends, as text.
std::string key_of(const fs::path& path, const storage::FileStamp& stamp, const MeasureOptions& options) {
  std::string key = fmt::format("{} {}", storage::stamp_text(stamp), options.bands.size());
  for (const Band band : options.bands) key += fmt::format(" {}", static_cast<int>(band));
  for (const OptionalNumber& number : {options.frequency_hz, options.rpm, options.from_s, options.to_s})
    key += number ? fmt::format(" {}", *number) : " -";
  return key + " " + path.lexically_normal().native();
}

ReadingError unreadable(const std::string& name, const char* why) { return {ReadingFault::kUnreadable, base::escaped(name) + ": " + why}; }

}  // namespace

Measured MeasuredOnce::of(const fs::path& path, const std::string& name, const MeasureOptions& options) {
  const auto stamp = storage::stamp_of(path);
  std::error_code missing;
  if (!stamp && fs::exists(path, missing))
    return unreadable(name, "this is not a regular file. It is not measured here. Record to a file, or use measure.");
  if (!stamp) return measure_(path, name, options);  // reports the reason
  if (is_awaited_(path)) return unreadable(name, "the recording is still being written. It is measured when it is finished.");
  const std::string key = key_of(path, *stamp, options);
  {
    const std::lock_guard lock(guard_);
    if (const auto at = kept_.find(key); at != kept_.end()) {
      at->second.used = ++calls_;
      return at->second.result;
    }
  }
  Measured result = measure_(path, name, options);
  const auto* error = std::get_if<ReadingError>(&result);
  // A file that was written meanwhile may have been measured in between two states.
  if ((error == nullptr || error->code == ReadingFault::kNoAnswer) && storage::stamp_of(path) == stamp) keep(key, result);
  return result;
}

bool MeasuredOnce::is_new(const fs::path& path, const MeasureOptions& options) const {
  const auto stamp = storage::stamp_of(path);
  const std::lock_guard lock(guard_);
  return !stamp || !kept_.contains(key_of(path, *stamp, options));
}

void MeasuredOnce::keep(const std::string& key, const Measured& result) {
  const std::lock_guard lock(guard_);
  if (kept_.size() >= kMostKept) {
    kept_.erase(std::min_element(kept_.begin(), kept_.end(), [](const auto& a, const auto& b) { return a.second.used < b.second.used; }));
  }
  kept_.insert_or_assign(key, Kept{result, ++calls_});
}

}  // namespace evenwall::internal::app
