#include "files/whole_file.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <cerrno>
#include <charconv>
#include <ctime>
#include <optional>
#include <random>

namespace evenwall {
namespace {

namespace fs = std::filesystem;

constexpr int kMostLinks = 40;               // as the kernel follows
constexpr int kMostNames = 100;              // tries for a free temporary name
constexpr std::time_t kStaleAfter_s = 3600;  // no run of ours writes one file for an hour
constexpr std::size_t kLongestName = 255;    // bytes, of every usual file system
constexpr std::string_view kMark = ".tmp-";
constexpr std::size_t kRandomLetters = 6;

/// The open descriptor that a path stands for: /dev/stdout and its kin.
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

fs::path resolved(fs::path path, const std::string& name) {
  std::error_code ignored;
  for (int links = 0; fs::is_symlink(fs::symlink_status(path, ignored)); ++links) {
    if (links == kMostLinks) refuse(name, "cannot be written: " + errno_text(ELOOP));
    const fs::path to = fs::read_symlink(path, ignored);
    path = to.is_absolute() ? to : path.parent_path() / to;
  }
  return path;
}

fs::path folder_of(const fs::path& path) { return path.has_parent_path() ? path.parent_path() : fs::path("."); }

std::string temporary_prefix(const fs::path& target) {
  std::string name = target.filename().native();
  name.resize(std::min(name.size(), kLongestName - 1 - kMark.size() - kRandomLetters));
  return "." + name + std::string(kMark);
}

bool is_left_over(const fs::directory_entry& entry, const std::string& prefix, std::time_t now_s) {
  const std::string name = entry.path().filename().native();
  const bool ours = name.size() == prefix.size() + kRandomLetters && name.starts_with(prefix) &&
                    std::all_of(name.end() - kRandomLetters, name.end(), [](unsigned char c) { return std::isalnum(c) != 0; });
  struct stat status {};
  return ours && ::lstat(entry.path().c_str(), &status) == 0 && S_ISREG(status.st_mode) && now_s - status.st_mtime > kStaleAfter_s;
}

void clear_left_overs(const fs::path& folder, const std::string& prefix) {
  std::error_code failed;
  const std::time_t now_s = std::time(nullptr);
  for (fs::directory_iterator at(folder, failed), end; !failed && at != end; at.increment(failed)) {
    if (is_left_over(*at, prefix, now_s)) ::unlink(at->path().c_str());
  }
}

std::string random_letters() {
  constexpr std::string_view kLetters = "abcdefghijklmnopqrstuvwxyz0123456789";
  std::random_device device;
  std::string letters(kRandomLetters, ' ');
  for (char& c : letters) c = kLetters[device() % kLetters.size()];
  return letters;
}

/// Pipes and devices have nothing to sync and say so with EINVAL.
void sync_or_refuse(int descriptor, const std::string& name) {
  if (::fsync(descriptor) != 0 && errno != EINVAL && errno != ENOTSUP && errno != EROFS) {
    refuse(name, "cannot be made safe on the medium: " + errno_text(errno));
  }
}

}  // namespace

void sync_folder(const fs::path& folder, const std::string& name) {
  const Descriptor opened(::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC));
  if (opened.get() < 0) refuse(name, "its folder cannot be made safe on the medium: " + errno_text(errno));
  sync_or_refuse(opened.get(), name);
}

WholeFile::WholeFile(const fs::path& path) : name_(shown(path)) {
  if (const auto number = descriptor_named(path)) {
    file_ = Descriptor(::fcntl(*number, F_DUPFD_CLOEXEC, 0));
    if (file_.get() < 0) refuse(name_, "cannot be written: " + errno_text(errno));
    return;
  }
  struct stat status {};
  const bool exists = ::stat(path.c_str(), &status) == 0;
  if (exists && S_ISDIR(status.st_mode)) refuse(name_, "is a folder; name a file");
  if (exists && !S_ISREG(status.st_mode)) {
    file_ = Descriptor(::open(path.c_str(), O_WRONLY | O_CLOEXEC | O_NOCTTY));
    if (file_.get() < 0) refuse(name_, "cannot be written: " + errno_text(errno));
    return;
  }
  target_ = resolved(path, name_);
  open_temporary();
  if (exists && ::fchmod(file_.get(), status.st_mode & 07777U) != 0) {
    const int error_number = errno;
    ::unlink(temporary_.c_str());
    refuse(name_, "its permissions cannot be kept: " + errno_text(error_number));
  }
}

void WholeFile::open_temporary() {
  if (!target_.has_filename()) refuse(name_, "names no file; give one");
  const std::string prefix = temporary_prefix(target_);
  clear_left_overs(folder_of(target_), prefix);
  for (int tries = 0; tries < kMostNames; ++tries) {
    temporary_ = folder_of(target_) / (prefix + random_letters());  // before there is a file: from then on nothing may fail for memory
    file_ = Descriptor(::open(temporary_.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666));
    if (file_.get() >= 0) return;
    if (errno != EEXIST) break;
  }
  refuse(name_, "cannot be written: " + errno_text(errno));
}

WholeFile::~WholeFile() {
  if (!temporary_.empty()) ::unlink(temporary_.c_str());
}

void WholeFile::commit() {
  sync_or_refuse(file_.get(), name_);
  if (const int error_number = file_.close()) refuse(name_, "cannot be written: " + errno_text(error_number));
  if (temporary_.empty()) return;
  if (::rename(temporary_.c_str(), target_.c_str()) != 0) refuse(name_, "cannot be put in place: " + errno_text(errno));
  temporary_.clear();
  sync_folder(folder_of(target_), name_);
}

}  // namespace evenwall
