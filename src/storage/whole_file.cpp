// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/whole_file.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <charconv>
#include <cstdio>
#include <utility>

#include "storage/left_overs.hpp"

namespace evenwall::internal::storage {
namespace {

namespace fs = std::filesystem;

constexpr int kMostLinks = 40;   // the kernel's limit for symbolic links
constexpr int kMostNames = 100;  // tries for a free temporary name

/// The open descriptor that a path such as /dev/stdout refers to.
std::optional<int> descriptor_named(const fs::path& path) {
  const std::string text = path.lexically_normal().string();
  if (text == "/dev/stdout") return STDOUT_FILENO;
  if (text == "/dev/stderr") return STDERR_FILENO;
  for (const std::string_view folder : {"/dev/fd/", "/proc/self/fd/"}) {
    if (!text.starts_with(folder)) continue;
    int number = -1;
    const char* end = text.data() + text.size();
    const auto parsed = std::from_chars(text.data() + folder.size(), end, number);
    if (parsed.ec == std::errc() && parsed.ptr == end && number >= 0) return number;
  }
  return std::nullopt;
}

/// Applies the kernel's rule for protected folders (fs.protected_symlinks), because this program follows links itself, past that check.
void refuse_planted_link(const fs::path& link, const std::string& name) {
  struct stat at {};
  struct stat folder {};
  if (::lstat(link.c_str(), &at) != 0 || ::stat(folder_of(link).c_str(), &folder) != 0) return;
  const bool shared = (folder.st_mode & S_ISVTX) != 0 && (folder.st_mode & S_IWOTH) != 0;
  if (!shared || at.st_uid == ::geteuid() || at.st_uid == folder.st_uid) return;
  refuse(name, "this path leads through a symbolic link that another user put into a folder shared by all (" + shown(link) +
                   "). Nothing was written. Name the file itself, or another place.");
}

/// Root may replace the file, but after a call with sudo the file would belong to root. Some file systems give every file the same owner
/// (FAT, network shares): `made`, a new file beside it, shows that.
void refuse_foreign(const struct stat& existing, int made, const std::string& name) {
  struct stat status {};
  if (existing.st_uid == ::geteuid() || (::fstat(made, &status) == 0 && status.st_uid == existing.st_uid)) return;
  refuse(name, "this file belongs to another user (number " + std::to_string(existing.st_uid) +
                   "), and replacing it would make it yours. Nothing was written. Name another file, or remove this one first.");
}

/// Pipes and devices have nothing to sync and report EINVAL.
void sync_or_refuse(int descriptor, const std::string& name) {
  if (::fsync(descriptor) != 0 && errno != EINVAL && errno != ENOTSUP && errno != EROFS) {
    refuse(name, "the file cannot be made safe on the medium: " + errno_text(errno));
  }
}

/// Whether the error means that the file system, or the kernel, has no files without a name.
bool knows_names_only(int error_number) {
  return error_number == EOPNOTSUPP || error_number == EISDIR || error_number == EINVAL || error_number == ENOENT;
}

std::string own_link(int descriptor) { return "/proc/self/fd/" + std::to_string(descriptor); }

/// Calls rename() over an empty file that this call has made and locked, so that no run of --append writes to it meanwhile.
int rename_over_own(const char* from, const char* to) {
  const Descriptor own(::open(to, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0666));
  if (own.get() < 0) return -1;
  if (::flock(own.get(), LOCK_EX | LOCK_NB) != 0 && errno == EWOULDBLOCK) {
    errno = EEXIST;  // another run of --append was faster
    return -1;
  }
  if (::rename(from, to) == 0) return 0;
  const int error_number = errno;
  ::unlink(to);
  errno = error_number;
  return -1;
}

/// Renames without ever replacing a file, also on a file system that does not offer this (NFS, FAT) or has no hard links (shared folders
/// of virtual machines, some of FUSE). Returns 0, or -1 with errno.
int rename_as_new(const char* from, const char* to) {
  if (::renameat2(AT_FDCWD, from, AT_FDCWD, to, RENAME_NOREPLACE) == 0) return 0;
  if (errno != EINVAL && errno != ENOSYS) return -1;
  if (::link(from, to) == 0) return ::unlink(from);
  const bool has_links = errno != EPERM && errno != ENOSYS && errno != EOPNOTSUPP && errno != EMLINK;
  return has_links ? -1 : rename_over_own(from, to);
}

}  // namespace

fs::path followed(fs::path path, const std::string& name) {
  std::error_code ignored;
  for (int links = 0; fs::is_symlink(fs::symlink_status(path, ignored)); ++links) {
    if (links == kMostLinks) refuse(name, "the file cannot be written: " + errno_text(ELOOP));
    refuse_planted_link(path, name);
    const fs::path to = fs::read_symlink(path, ignored);
    path = to.is_absolute() ? to : path.parent_path() / to;
  }
  return path;
}

void refuse_write_protected(const struct stat& existing, const std::string& name) {
  const mode_t allowed = existing.st_uid == ::geteuid() ? S_IWUSR : S_IWUSR | S_IWGRP | S_IWOTH;
  if ((existing.st_mode & allowed) != 0) return;
  refuse(name,
         "the file is write-protected (its mode does not allow writing). Nothing was written. Name another file, or allow "
         "writing with chmod u+w.");
}

bool begin_with_line(const fs::path& path, std::string_view line) {
  struct stat existing {};
  if (::stat(path.c_str(), &existing) == 0) return false;
  WholeFile file(path);
  file.write(std::string(line) + "\n");
  return file.commit_as_new();
}

void sync_folder(const fs::path& folder, const std::string& name) {
  const Descriptor opened(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (opened.get() < 0) refuse(name, "its folder cannot be made safe on the medium: " + errno_text(errno));
  sync_or_refuse(opened.get(), name);
}

WholeFile::WholeFile(const fs::path& path) : name_(shown(path)) {
  if (const auto number = descriptor_named(path)) {
    file_ = Descriptor(::fcntl(*number, F_DUPFD_CLOEXEC, 0));
    if (file_.get() < 0) refuse_errno("the file cannot be written: ", errno);
    return;
  }
  fs::path target = followed(path, name_);
  struct stat status {};
  const bool exists = ::stat(path.c_str(), &status) == 0;
  if (exists && S_ISDIR(status.st_mode)) refuse(name_, "this is a folder. Name a file.");
  if (exists && !S_ISREG(status.st_mode)) {
    file_ = Descriptor(::open(path.c_str(), O_WRONLY | O_CLOEXEC | O_NOCTTY));
    if (file_.get() < 0) refuse_errno("the file cannot be written: ", errno);
    return;
  }
  if (exists) refuse_write_protected(status, name_);
  target_ = std::move(target);
  open_unnamed_or_named();
  if (!exists) return;
  refuse_foreign(status, file_.get(), name_);
  keep_mode_of(status);
}

void WholeFile::refuse_errno(const char* what, int error_number) const { refuse(name_, what + errno_text(error_number)); }

void WholeFile::open_unnamed_or_named() {
  if (!target_.has_filename()) refuse(name_, "this path names no file. Name a file.");
  clear_left_overs(target_);
  file_ = Descriptor(::open(folder_of(target_).c_str(), O_TMPFILE | O_RDWR | O_CLOEXEC, 0666));
  if (file_.get() < 0 && !knows_names_only(errno)) refuse_errno("the file cannot be written: ", errno);
  // give_name() needs /proc, which not every container has.
  if (file_.get() < 0 || ::access(own_link(file_.get()).c_str(), F_OK) != 0) open_named();
  mark_in_use(file_.get());
}

void WholeFile::open_named() {
  for (int tries = 0; tries < kMostNames; ++tries) {
    temporary_.emplace(temporary_name(target_, 0));
    const Making making;
    file_ = Descriptor(::open(temporary_->path().c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666));
    if (file_.get() < 0 && errno == EEXIST) continue;
    if (file_.get() < 0) break;
    struct stat status {};
    if (::fstat(file_.get(), &status) != 0) {
      const int error_number = errno;
      ::unlink(temporary_->path().c_str());  // made a moment ago; a file without an identity would not be removed later
      refuse_errno("the file cannot be written: ", error_number);
    }
    const FileIdentity own = identity_of(status);
    temporary_->holds(own);
    const std::string numbered = temporary_name(target_, own.inode);
    if (rename_as_new(temporary_->path().c_str(), numbered.c_str()) != 0) return;
    temporary_.emplace(numbered).holds(own);
    return;
  }
  refuse_errno("the file cannot be written: ", errno);
}

void WholeFile::keep_mode_of(const struct stat& existing) {
  // The group comes first: changing it may clear mode bits, which fchmod then restores. A group that cannot be set stays as it is.
  static_cast<void>(::fchown(file_.get(), static_cast<uid_t>(-1), existing.st_gid) == 0);
  if (::fchmod(file_.get(), existing.st_mode & 07777U) != 0) refuse_errno("the permissions of the old file cannot be kept: ", errno);
}

FileIdentity WholeFile::identity() const {
  struct stat status {};
  if (::fstat(file_.get(), &status) != 0) refuse_errno("the new file cannot be put in place: ", errno);
  return identity_of(status);
}

/// Gives the file a name that holds its inode number, by which a later run recognises it if this run is killed now.
void WholeFile::give_name() {
  const FileIdentity own = identity();
  for (int tries = 0; tries < kMostNames; ++tries) {
    temporary_.emplace(temporary_name(target_, own.inode));
    if (::linkat(AT_FDCWD, own_link(file_.get()).c_str(), AT_FDCWD, temporary_->path().c_str(), AT_SYMLINK_FOLLOW) == 0) {
      return temporary_->holds(own);
    }
    if (errno != EEXIST) break;
  }
  refuse_errno("the new file cannot be put in place: ", errno);
}

bool WholeFile::close_and_rename(Existing existing) {
  const Making making;
  if (!is_direct() && !temporary_) give_name();
  if (const int error_number = file_.close()) refuse_errno("the file cannot be written: ", error_number);
  if (is_direct()) return true;
  const char* from = temporary_->path().c_str();
  const bool placed = (existing == Existing::kReplaced ? ::rename(from, target_.c_str()) : rename_as_new(from, target_.c_str())) == 0;
  if (!placed && existing == Existing::kKept && errno == EEXIST) return false;
  if (!placed) refuse_errno("the new file cannot be put in place: ", errno);
  temporary_->keep();
  return true;
}

bool WholeFile::put_in_place(Existing existing) {
  sync_or_refuse(file_.get(), name_);
  if (!close_and_rename(existing)) return false;
  if (!is_direct()) sync_folder(folder_of(target_), name_);
  return true;
}

}  // namespace evenwall::internal::storage
