#include <fcntl.h>
#include <fmt/format.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>

#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "files/descriptor.hpp"
#include "files/file_bytes.hpp"
#include "files/target_check.hpp"
#include "files/unfinished.hpp"
#include "files/waiting.hpp"
#include "files/whole_file.hpp"

namespace evenwall {
namespace {

constexpr const char* kNoFile = "is no regular file; lines can be added to a file only";
constexpr std::size_t kReadBlock = 1 << 16;  // bytes
constexpr int kMostExchanges = 100;

[[noreturn]] void refuse_length(const std::string& name, std::size_t limit_bytes) {
  refuse(name, fmt::format("is longer than {} bytes, the most that is read of such a file; is it the right one?", limit_bytes));
}

std::string read_limited(int descriptor, std::size_t limit_bytes, const std::string& name, std::size_t expected_bytes = 0) {
  std::string text;
  text.reserve(expected_bytes + kReadBlock);  // growing would hold the text twice
  for (;;) {
    const std::size_t before = text.size();
    text.resize(before + std::min(kReadBlock, limit_bytes - before + 1));
    const std::size_t n = read_some(descriptor, text.data() + before, text.size() - before, name);
    text.resize(before + n);
    if (n == 0) return text;
    if (text.size() > limit_bytes) refuse_length(name, limit_bytes);
  }
}

/// One writer at a time, over all programs that ask.
void lock(int descriptor, const std::string& name) {
  wait_for({name, "another program holds the lock of this file", "end that program"}, [&] {
    if (::flock(descriptor, LOCK_EX | LOCK_NB) == 0) return true;
    if (errno != EWOULDBLOCK && errno != EINTR) refuse(name, "cannot be locked: " + errno_text(errno));
    return false;
  });
}

bool ends_torn(int descriptor, off_t size, const std::string& name) {
  char last = '\n';
  if (size > 0 && ::pread(descriptor, &last, 1, size - 1) != 1) refuse(name, "cannot be read: " + errno_text(errno));
  return last != '\n';
}

/// Whether the file has the line already, byte for byte. Nothing is parsed.
bool has_line(int descriptor, std::string_view line, const std::string& name) {
  const FileBytes bytes(descriptor, name);
  const std::string sought = "\n" + std::string(line) + "\n";
  std::string window = "\n";  // the first line has no line end before it
  for (std::uint64_t at = 0; at < bytes.size();) {
    const std::string block = bytes.read(at, kReadBlock);
    if (block.empty()) break;
    at += block.size();
    window += block;
    if (window.find(sought) != std::string::npos) return true;
    window.erase(0, window.size() - std::min(window.size(), sought.size()));
  }
  return (window + "\n").ends_with(sought);  // the last line may have lost its line end
}

/// What a failed append leaves of its `added_bytes`, for the message that reports the failure. Removes it if the system lets it.
std::string taken_back(int descriptor, off_t old_size, std::size_t added_bytes) {
  if (::ftruncate(descriptor, old_size) == 0) return "";
  const std::string fault = errno_text(errno);
  struct stat status {};
  const bool is_known = ::fstat(descriptor, &status) == 0;
  const std::string what =
      is_known ? fmt::format("{} of the line's {} bytes are", status.st_size - old_size, added_bytes) : "a part of the line may be";
  return fmt::format(". Then {} in the file and cannot be removed: {}", what, fault);
}

/// Requires: the lock. Throws: Error(kInput), the file then as it was, or the message says what is in it. A failed fsync is never tried
/// again: the system may have forgotten what it could not write, and would report success.
void add_safely(int descriptor, off_t old_size, std::string_view line, const fs::path& path) {
  const std::string name = shown(path);
  std::string whole = ends_torn(descriptor, old_size, name) ? "\n" : "";
  whole += line;
  whole += '\n';
  try {
    write_all(descriptor, whole, name);
    if (::fsync(descriptor) != 0) refuse(name, "cannot be made safe on the medium: " + errno_text(errno));
    if (old_size == 0) sync_folder(path.has_parent_path() ? path.parent_path() : fs::path("."), name);
  } catch (const Error& fault) {
    throw Error(ErrorKind::kInput, fault.what() + taken_back(descriptor, old_size, whole.size()));
  }
}

enum class Repeats { kAdded, kNotAdded };
enum class Added { kYes, kThere, kExchanged };

bool is_still(const fs::path& path, const struct stat& opened) {
  struct stat status {};
  return ::stat(path.c_str(), &status) == 0 && identity_of(status) == identity_of(opened);
}

/// kExchanged: another program has put another file in its place while its lock was awaited; nothing is added then.
Added add_to_file(const fs::path& path, std::string_view line, Repeats repeats) {
  const std::string name = shown(path);
  const Descriptor file(::open(path.c_str(), O_RDWR | O_APPEND | O_CREAT | O_CLOEXEC | O_NOCTTY, 0666));
  if (file.get() < 0) refuse(name, "cannot be written: " + errno_text(errno));
  lock(file.get(), name);
  struct stat status {};
  if (::fstat(file.get(), &status) != 0) refuse(name, "cannot be read: " + errno_text(errno));
  if (!S_ISREG(status.st_mode)) refuse(name, kNoFile);
  if (!is_still(path, status)) return Added::kExchanged;
  refuse_unless_fits(file.get(), line, name);
  if (repeats == Repeats::kNotAdded && has_line(file.get(), line, name)) return Added::kThere;
  add_safely(file.get(), status.st_size, line, path);
  return Added::kYes;
}

bool append(const fs::path& path, std::string_view line, Repeats repeats) {
  if (line.find('\n') != std::string_view::npos)
    throw Error(ErrorKind::kInternal, "append_line: a line with a line end inside; report this");
  for (int tries = 0; tries < kMostExchanges; ++tries) {
    if (begin_with_line(path, line)) return true;
    const Added added = add_to_file(path, line, repeats);
    if (added != Added::kExchanged) return added == Added::kYes;
  }
  refuse(shown(path), "is exchanged by another program again and again. Nothing was added; end that program");
}

void check_appendable(const fs::path& path, const struct stat& status, const std::string& name) {
  if (!S_ISREG(status.st_mode)) refuse(name, kNoFile);
  refuse_write_protected(status, name);
  const Descriptor file(::open(path.c_str(), O_RDWR | O_APPEND | O_CLOEXEC | O_NOCTTY));
  if (file.get() < 0) refuse(name, "cannot be written: " + errno_text(errno));
  refuse_unless_readings(file.get(), name);
}

}  // namespace

std::string read_text(const fs::path& path, std::size_t limit_bytes) {
  const Descriptor file = open_input(path);
  struct stat status {};
  if (::fstat(file.get(), &status) != 0) refuse(shown(path), "cannot be read: " + errno_text(errno));
  // Before a byte of it is held in memory.
  if (status.st_size > static_cast<off_t>(limit_bytes)) refuse_length(shown(path), limit_bytes);
  return read_limited(file.get(), limit_bytes, shown(path), static_cast<std::size_t>(status.st_size));
}

std::string read_stream(int descriptor, std::size_t limit_bytes) {
  return read_limited(descriptor, limit_bytes, descriptor == 0 ? "standard input" : "stream");
}

void write_whole(const fs::path& path, std::string_view text) {
  WholeFile file(path);
  file.write(text);
  file.commit();
}

void check_writable(const fs::path& path, WriteKind kind) {
  const std::string name = shown(path);
  refuse_audio_name(path, name);
  refuse_audio_name(followed(path, name), name);
  struct stat status {};
  const bool exists = ::stat(path.c_str(), &status) == 0;
  if (exists && S_ISDIR(status.st_mode)) refuse(name, "is a folder; name a file");
  if (exists && kind == WriteKind::kAppend) {
    check_appendable(path, status, name);
  } else if (!exists || S_ISREG(status.st_mode)) {
    static_cast<void>(WholeFile(path));  // opening a FIFO or a device could already do something
    if (exists) refuse_irreplaceable(path, name);
  }
}

void append_line(const fs::path& path, std::string_view line) { append(path, line, Repeats::kAdded); }

bool append_line_once(const fs::path& path, std::string_view line) { return append(path, line, Repeats::kNotAdded); }

}  // namespace evenwall
