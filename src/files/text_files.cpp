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
#include "files/target_check.hpp"
#include "files/whole_file.hpp"

namespace evenwall {
namespace {

constexpr const char* kNoFile = "is no regular file; lines can be added to a file only";
constexpr std::size_t kReadBlock = 1 << 16;  // bytes

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
  while (::flock(descriptor, LOCK_EX) != 0) {
    if (errno != EINTR) refuse(name, "cannot be locked: " + errno_text(errno));
  }
}

bool ends_torn(int descriptor, off_t size, const std::string& name) {
  char last = '\n';
  if (size > 0 && ::pread(descriptor, &last, 1, size - 1) != 1) refuse(name, "cannot be read: " + errno_text(errno));
  return last != '\n';
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

void append_line(const fs::path& path, std::string_view line) {
  if (line.find('\n') != std::string_view::npos)
    throw Error(ErrorKind::kInternal, "append_line: a line with a line end inside; report this");
  const std::string name = shown(path);
  if (begin_with_line(path, line)) return;
  const Descriptor file(::open(path.c_str(), O_RDWR | O_APPEND | O_CREAT | O_CLOEXEC | O_NOCTTY, 0666));
  if (file.get() < 0) refuse(name, "cannot be written: " + errno_text(errno));
  lock(file.get(), name);
  struct stat status {};
  if (::fstat(file.get(), &status) != 0) refuse(name, "cannot be read: " + errno_text(errno));
  if (!S_ISREG(status.st_mode)) refuse(name, kNoFile);
  refuse_unless_fits(file.get(), line, name);
  std::string whole = ends_torn(file.get(), status.st_size, name) ? "\n" : "";
  whole += line;
  whole += '\n';
  try {
    write_all(file.get(), whole, name);
  } catch (const Error&) {
    // Take back the part that was written; where even that fails, the next line still starts on its own.
    if (::ftruncate(file.get(), status.st_size) != 0)
      throw Error(ErrorKind::kInput, name + ": the line could be written in part only: " + errno_text(errno));
    throw;
  }
  if (::fsync(file.get()) != 0) refuse(name, "cannot be made safe on the medium: " + errno_text(errno));
  if (status.st_size == 0) sync_folder(path.has_parent_path() ? path.parent_path() : fs::path("."), name);
}

}  // namespace evenwall
