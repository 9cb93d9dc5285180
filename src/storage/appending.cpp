// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/appending.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>

#include "evenwall/error.hpp"
#include "storage/descriptor.hpp"
#include "storage/file_bytes.hpp"
#include "storage/unfinished.hpp"
#include "storage/waiting.hpp"
#include "storage/whole_file.hpp"

namespace evenwall::internal::storage {
namespace {

namespace fs = std::filesystem;

constexpr const char* kNoFile = "this is not a regular file, so no line can be added to it. Name another file.";
constexpr std::size_t kCompareBlock = 1 << 16;  // bytes
constexpr int kMostExchanges = 100;

/// Allows one writer at a time, among all programs that use this lock.
void lock(int descriptor, const std::string& name) {
  wait_for({name, "another program holds the lock of this file", "End that program"}, [&] {
    if (::flock(descriptor, LOCK_EX | LOCK_NB) == 0) return true;
    if (errno != EWOULDBLOCK && errno != EINTR) refuse(name, "the file cannot be locked: " + errno_text(errno));
    return false;
  });
}

bool ends_torn(int descriptor, off_t size, const std::string& name) {
  char last = '\n';
  if (size > 0 && ::pread(descriptor, &last, 1, size - 1) != 1) refuse(name, "the file cannot be read: " + errno_text(errno));
  return last != '\n';
}

/// Whether the file has the line already, byte for byte. Nothing is parsed.
bool has_line(int descriptor, std::string_view line, const std::string& name) {
  const FileBytes bytes(descriptor, name);
  const std::string sought = "\n" + std::string(line) + "\n";
  std::string window = "\n";  // the first line has no line end before it
  for (std::uint64_t at = 0; at < bytes.size();) {
    const std::string block = bytes.read(at, kCompareBlock);
    if (block.empty()) break;
    at += block.size();
    window += block;
    if (window.find(sought) != std::string::npos) return true;
    window.erase(0, window.size() - std::min(window.size(), sought.size()));
  }
  return (window + "\n").ends_with(sought);  // the last line may have lost its line end
}

/// Removes what a failed append has added of its `added_bytes`. If the system refuses that, returns the text that reports the rest.
std::string taken_back(int descriptor, off_t old_size, std::size_t added_bytes) {
  if (::ftruncate(descriptor, old_size) == 0) return "";
  const std::string fault = errno_text(errno);
  struct stat status {};
  const bool is_known = ::fstat(descriptor, &status) == 0;
  const std::string what =
      is_known ? fmt::format("{} of the line's {} bytes are", status.st_size - old_size, added_bytes) : "A part of the line may be";
  return fmt::format(" {} in the file and cannot be removed: {}", what, fault);
}

/// Requires: the file is locked. Throws: Error(kInput); the file is then as it was, or the message states what was added. A failed fsync
/// is never repeated: the system may have dropped the data that it could not write, and would report success.
void add_safely(int descriptor, off_t old_size, std::string_view line, const fs::path& path) {
  const std::string name = shown(path);
  std::string whole = ends_torn(descriptor, old_size, name) ? "\n" : "";
  whole += line;
  whole += '\n';
  try {
    write_all(descriptor, whole, name);
    if (::fsync(descriptor) != 0) refuse(name, "the file cannot be made safe on the medium: " + errno_text(errno));
    if (old_size == 0) sync_folder(path.has_parent_path() ? path.parent_path() : fs::path("."), name);
  } catch (const Error& fault) {
    throw Error(ErrorKind::kInput, fault.what() + taken_back(descriptor, old_size, whole.size()));
  }
}

enum class Added { kYes, kThere, kExchanged };

bool is_still(const fs::path& path, const struct stat& opened) {
  struct stat status {};
  return ::stat(path.c_str(), &status) == 0 && identity_of(status) == identity_of(opened);
}

/// Returns kExchanged, with nothing added, if another program has put another file in its place while this one waited for the lock.
Added add_to_file(const fs::path& path, std::string_view line, Repeats repeats, const ContentCheck& check) {
  const std::string name = shown(path);
  const Descriptor file(::open(path.c_str(), O_RDWR | O_APPEND | O_CREAT | O_CLOEXEC | O_NOCTTY, 0666));
  if (file.get() < 0) refuse(name, "the file cannot be written: " + errno_text(errno));
  lock(file.get(), name);
  struct stat status {};
  if (::fstat(file.get(), &status) != 0) refuse(name, "the file cannot be read: " + errno_text(errno));
  if (!S_ISREG(status.st_mode)) refuse(name, kNoFile);
  if (!is_still(path, status)) return Added::kExchanged;
  check(file.get(), name);
  if (repeats == Repeats::kNotAdded && has_line(file.get(), line, name)) return Added::kThere;
  add_safely(file.get(), status.st_size, line, path);
  return Added::kYes;
}

}  // namespace

bool append(const fs::path& path, std::string_view line, Repeats repeats, const ContentCheck& check) {
  if (line.find('\n') != std::string_view::npos)
    throw Error(ErrorKind::kInternal, "append_line was given a line with a line end inside. Please report this.");
  for (int tries = 0; tries < kMostExchanges; ++tries) {
    if (begin_with_line(path, line)) return true;
    const Added added = add_to_file(path, line, repeats, check);
    if (added != Added::kExchanged) return added == Added::kYes;
  }
  refuse(shown(path), "another program replaces this file again and again. Nothing was added. End that program.");
}

void check_appendable(const fs::path& path, const struct stat& status, const std::string& name, const ContentCheck& check) {
  if (!S_ISREG(status.st_mode)) refuse(name, kNoFile);
  refuse_write_protected(status, name);
  const Descriptor file(::open(path.c_str(), O_RDWR | O_APPEND | O_CLOEXEC | O_NOCTTY));
  if (file.get() < 0) refuse(name, "the file cannot be written: " + errno_text(errno));
  check(file.get(), name);
}

}  // namespace evenwall::internal::storage
