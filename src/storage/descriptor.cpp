// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/descriptor.hpp"

#include <fcntl.h>
#include <poll.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <mutex>
#include <optional>
#include <system_error>
#include <vector>

#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "storage/kept_stream.hpp"
#include "storage/waiting.hpp"

namespace evenwall::internal::storage {
namespace {

constexpr std::size_t kSpoolBlock = 1 << 16;  // bytes; a pipe's usual capacity
constexpr std::size_t kMostSpools = 64;       // prepared in one call; each holds a descriptor

/// The name of a kind of file that is refused; nullptr for regular files and FIFOs.
const char* kind_refused(mode_t mode) {
  if (S_ISDIR(mode)) return "a folder";
  if (S_ISCHR(mode) || S_ISBLK(mode)) return "a device";
  if (S_ISSOCK(mode)) return "a socket";
  return nullptr;
}

/// Advice on an error of the file system.
const char* advice_on(int error_number) {
  switch (error_number) {
    case ENOENT:
    case ENOTDIR:
    case ENAMETOOLONG:
    case ELOOP:
      return "Check the name.";
    case EACCES:
    case EPERM:
      return "Check its permissions, or choose another place.";
    case ENOSPC:
    case EDQUOT:
    case EFBIG:
      return "Make room, or choose another place.";
    case EROFS:
      return "Choose another place.";
    case EIO:
      return "Check the medium, and copy the file to another medium.";
    case EMFILE:
    case ENFILE:
      return "Close other programs, or raise the limit of open files (ulimit -n).";
    case ENOMEM:
      return "Close other programs.";
    default:
      return "Try again.";
  }
}

/// A temporary file made in advance, or the reason why it could not be made.
struct PreparedSpool {
  Descriptor file;
  std::string fault;
};

struct PreparedSpools {
  std::mutex guard;
  std::vector<PreparedSpool> left;
};

PreparedSpools& prepared_spools() {
  static PreparedSpools spools;
  return spools;
}

std::optional<PreparedSpool> prepared_spool() {
  PreparedSpools& spools = prepared_spools();
  const std::lock_guard lock(spools.guard);
  if (spools.left.empty()) return std::nullopt;
  PreparedSpool taken = std::move(spools.left.back());
  spools.left.pop_back();
  return taken;
}

void refuse_unless_readable(const struct stat& status, const std::string& name) {
  if (const char* kind = kind_refused(status.st_mode)) refuse(name, std::string("this is ") + kind + ". Give a file.");
}

Descriptor unlinked_temporary() {
  std::error_code failed;
  const std::string where = std::filesystem::temp_directory_path(failed).string();
  if (failed) refuse("TMPDIR", "this variable names no folder for temporary files: " + errno_text(failed.value()));
  Descriptor file(::open(where.c_str(), O_TMPFILE | O_RDWR | O_CLOEXEC, 0600));
  if (file.get() >= 0) return file;
  std::string pattern = where + "/evenwall-XXXXXX";  // not every file system supports O_TMPFILE
  Descriptor named(::mkostemp(pattern.data(), O_CLOEXEC));
  if (named.get() < 0)
    refuse(shown(where), "no temporary file can be made in this folder: " + errno_text(errno) + " TMPDIR can name another folder.");
  ::unlink(pattern.c_str());
  return named;
}

/// Whether the last call failed only because the descriptor is non-blocking, which another program may have caused. If so, waits until it
/// is ready; otherwise errno is unchanged.
bool awaited(int descriptor, short event) {
  if (errno != EAGAIN && errno != EWOULDBLOCK) return false;
  pollfd watched{descriptor, event, 0};
  return ::poll(&watched, 1, -1) >= 0 || errno == EINTR;
}

}  // namespace

Descriptor::~Descriptor() { close(); }

int Descriptor::close() {
  const int number = std::exchange(number_, -1);
  return number >= 0 && ::close(number) != 0 ? errno : 0;
}

std::string errno_text(int error_number) { return std::generic_category().message(error_number) + ". " + advice_on(error_number); }

void refuse(const std::string& name, const std::string& found) { throw Error(ErrorKind::kInput, name + ": " + found); }

std::string shown(const std::filesystem::path& path) { return base::escaped(path.native()); }

Descriptor open_input(const std::filesystem::path& path) {
  const std::string name = shown(path);
  struct stat status {};
  // The kind is checked before opening too, because opening a device can already have an effect.
  if (::stat(path.c_str(), &status) != 0) refuse(name, "the file cannot be opened: " + errno_text(errno));
  refuse_unless_readable(status, name);
  const bool is_fifo = S_ISFIFO(status.st_mode);
  Descriptor file(::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NOCTTY | (is_fifo ? O_NONBLOCK : 0)));
  if (file.get() < 0) refuse(name, "the file cannot be opened: " + errno_text(errno));
  if (is_fifo) wait_for_writer(file.get(), name);
  if (::fstat(file.get(), &status) != 0) refuse(name, "the file cannot be read: " + errno_text(errno));
  refuse_unless_readable(status, name);
  return file;
}

std::size_t read_some(int descriptor, char* out, std::size_t count, const std::string& name) {
  for (;;) {
    const ssize_t n = ::read(descriptor, out, count);
    if (n >= 0) return static_cast<std::size_t>(n);
    if (errno != EINTR && !awaited(descriptor, POLLIN)) refuse(name, "the input cannot be read: " + errno_text(errno));
  }
}

int write_fully(int descriptor, std::string_view bytes) noexcept {
  while (!bytes.empty()) {
    const ssize_t n = ::write(descriptor, bytes.data(), bytes.size());
    if (n >= 0) bytes.remove_prefix(static_cast<std::size_t>(n));
    if (n < 0 && errno != EINTR && !awaited(descriptor, POLLOUT)) return errno;
  }
  return 0;
}

void write_all(int descriptor, std::string_view bytes, const std::string& name) {
  if (const int error_number = write_fully(descriptor, bytes)) refuse(name, "the file cannot be written: " + errno_text(error_number));
}

void prepare_spools(std::size_t count) {
  PreparedSpools& spools = prepared_spools();
  const std::lock_guard lock(spools.guard);
  for (std::size_t i = 0; i < std::min(count, kMostSpools); ++i) {
    PreparedSpool next;
    try {
      next.file = unlinked_temporary();
    } catch (const Error& error) {
      next.fault = error.what();
    }
    spools.left.push_back(std::move(next));
  }
}

Descriptor spool(int stream, const std::string& name) {
  if (stream == STDIN_FILENO) {
    if (std::optional<KeptStream> kept = take_kept_stream()) return copy_and_keep(stream, std::move(*kept), name);
  }
  std::optional<PreparedSpool> prepared = prepared_spool();
  if (prepared && !prepared->fault.empty()) throw Error(ErrorKind::kInput, prepared->fault);
  Descriptor file = prepared ? std::move(prepared->file) : unlinked_temporary();
  std::vector<char> block(kSpoolBlock);
  while (const std::size_t n = read_some(stream, block.data(), block.size(), name)) {
    write_all(file.get(), {block.data(), n}, "temporary copy of " + name);
  }
  return file;
}

bool is_regular(int descriptor) {
  struct stat status {};
  return ::fstat(descriptor, &status) == 0 && S_ISREG(status.st_mode);
}

}  // namespace evenwall::internal::storage
