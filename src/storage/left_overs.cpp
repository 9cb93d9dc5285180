// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/left_overs.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <charconv>
#include <ctime>
#include <random>
#include <string_view>

#include "storage/descriptor.hpp"

namespace evenwall::internal::storage {
namespace {

namespace fs = std::filesystem;

constexpr std::time_t kStaleAfter_s = 3600;  // no run writes one file for an hour
constexpr std::size_t kLongestName = 255;    // bytes; the limit of every usual file system
constexpr std::string_view kMark = ".tmp-";
constexpr std::size_t kRandomLetters = 6;
constexpr std::size_t kMostDigits = 13;  // of a 64-bit number
constexpr int kBase = 36;
constexpr std::string_view kLetters = "abcdefghijklmnopqrstuvwxyz0123456789";

std::string digits_of(ino_t inode) {
  char digits[kMostDigits + 1];
  return {digits, std::to_chars(digits, digits + kMostDigits, inode, kBase).ptr};
}

std::string random_letters() {
  std::random_device device;
  std::string letters(kRandomLetters, ' ');
  for (char& c : letters) c = kLetters[device() % kLetters.size()];
  return letters;
}

std::string prefix_of(const fs::path& target) {
  std::string name = target.filename().native();
  name.resize(std::min(name.size(), kLongestName - 2 - kMark.size() - kMostDigits - kRandomLetters));
  return "." + name + std::string(kMark);
}

bool names(const std::string& name, const std::string& prefix, ino_t inode) {
  const std::string expected = prefix + digits_of(inode) + "-";
  return name.size() == expected.size() + kRandomLetters && name.starts_with(expected) &&
         name.find_first_not_of(kLetters, expected.size()) == std::string::npos;
}

/// Examines the open file, because another file may have got its name since.
bool is_left_over(int descriptor, const std::string& name, const std::string& prefix, std::time_t now_s) {
  struct stat status {};
  return ::fstat(descriptor, &status) == 0 && S_ISREG(status.st_mode) && names(name, prefix, status.st_ino) &&
         status.st_uid == ::geteuid() && status.st_nlink == 1 && now_s - status.st_mtime > kStaleAfter_s &&
         ::flock(descriptor, LOCK_EX | LOCK_NB) == 0;
}

}  // namespace

fs::path folder_of(const fs::path& path) { return path.has_parent_path() ? path.parent_path() : fs::path("."); }

fs::path temporary_name(const fs::path& target, ino_t inode) {
  return folder_of(target) / (prefix_of(target) + digits_of(inode) + "-" + random_letters());
}

void mark_in_use(int descriptor) {
  // If the file system has no locks, clear_left_overs() cannot lock either, and then it removes nothing.
  static_cast<void>(::flock(descriptor, LOCK_EX | LOCK_NB) == 0);
}

void clear_left_overs(const fs::path& target) {
  std::error_code failed;
  const std::time_t now_s = std::time(nullptr);
  const std::string prefix = prefix_of(target);
  for (fs::directory_iterator at(folder_of(target), failed), end; !failed && at != end; at.increment(failed)) {
    const std::string name = at->path().filename().native();
    if (!name.starts_with(prefix)) continue;
    const Descriptor file(::open(at->path().c_str(), O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC | O_NOCTTY));
    if (file.get() >= 0 && is_left_over(file.get(), name, prefix, now_s)) ::unlink(at->path().c_str());
  }
}

}  // namespace evenwall::internal::storage
