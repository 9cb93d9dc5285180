// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/file_stamp.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <limits>
#include <utility>

namespace evenwall::internal::storage {
namespace {

constexpr std::int64_t kNanoseconds = 1'000'000'000;  // in a second

}  // namespace

FileStamp stamp_of(const struct stat& status) {
  return {identity_of(status), status.st_size, status.st_mtim.tv_sec * kNanoseconds + status.st_mtim.tv_nsec};
}

std::optional<FileStamp> stamp_of(const std::filesystem::path& path) {
  struct stat status {};
  if (::stat(path.c_str(), &status) != 0 || !S_ISREG(status.st_mode)) return std::nullopt;
  return stamp_of(status);
}

std::string stamp_text(const FileStamp& stamp) {
  return fmt::format("{} {} {} {}", stamp.identity.device, stamp.identity.inode, stamp.size_bytes, stamp.modified_ns);
}

std::optional<FileStamp> stamp_from(std::string_view text) {
  std::array<std::int64_t, 4> numbers{};
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    if (i > 0 && !text.starts_with(' ')) return std::nullopt;
    if (i > 0) text.remove_prefix(1);
    std::uint64_t unsigned_number = 0;  // device and inode numbers use all 64 bits
    const bool is_identity = i < 2;
    const char* last = text.data() + text.size();
    const auto [end, fault] =
        is_identity ? std::from_chars(text.data(), last, unsigned_number) : std::from_chars(text.data(), last, numbers[i]);
    if (fault != std::errc()) return std::nullopt;
    if (is_identity) numbers[i] = static_cast<std::int64_t>(unsigned_number);
    text.remove_prefix(static_cast<std::size_t>(end - text.data()));
  }
  if (!text.empty()) return std::nullopt;
  return FileStamp{{static_cast<dev_t>(numbers[0]), static_cast<ino_t>(numbers[1])}, numbers[2], numbers[3]};
}

std::vector<std::string> oldest_first(const std::filesystem::path& folder, const std::vector<std::string>& names) {
  std::vector<std::pair<std::int64_t, std::string>> timed;
  timed.reserve(names.size());
  for (const std::string& name : names) {
    const auto stamp = stamp_of(folder / name);
    timed.emplace_back(stamp ? stamp->modified_ns : std::numeric_limits<std::int64_t>::max(), name);
  }
  std::stable_sort(timed.begin(), timed.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  std::vector<std::string> sorted;
  sorted.reserve(names.size());
  for (auto& [time, name] : timed) sorted.push_back(std::move(name));
  return sorted;
}

}  // namespace evenwall::internal::storage
