// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/sample_file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>

#include "storage/file_bytes.hpp"

namespace evenwall::internal::audio {
namespace {

constexpr std::int64_t kAskEvery_bytes = 250'000;

}  // namespace

SampleFile::SampleFile(storage::Descriptor file, std::string name) : file_(std::move(file)), name_(std::move(name)), at_open_(stamp_now()) {
  // Failure is harmless: it is only a hint to the kernel.
  (void)::posix_fadvise(file_.get(), 0, 0, POSIX_FADV_SEQUENTIAL);
}

void SampleFile::require_unchanged(std::int64_t bytes_to_read) {
  unasked_bytes_ -= bytes_to_read;
  if (unasked_bytes_ > 0) return;
  unasked_bytes_ = kAskEvery_bytes;
  if (stamp_now().size_bytes > at_open_.size_bytes) refuse_changed();
}

void SampleFile::require_same() const {
  if (!(stamp_now() == at_open_)) refuse_changed();
}

std::int64_t SampleFile::read(std::int64_t offset, std::int64_t count, void* out, int& error_number) const {
  std::int64_t done = 0;
  while (done < count) {
    const ssize_t n = ::pread(file_.get(), static_cast<char*>(out) + done, static_cast<std::size_t>(count - done), offset + done);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) error_number = errno;
    if (n <= 0) break;
    done += n;
  }
  return done;
}

void SampleFile::refuse_medium(std::int64_t frame, int error_number) const {
  storage::refuse(name_, fmt::format("the file cannot be read after frame {}: {}", frame, storage::errno_text(error_number)));
}

void SampleFile::refuse_short(std::int64_t frame, std::int64_t declared) const {
  storage::refuse(name_, fmt::format("the audio ends at frame {}, but {} frames are declared. Copy or record it again.", frame, declared));
}

void SampleFile::refuse_changed() const {
  storage::refuse(name_, "the file changed while it was being read. It is not measured. Measure it again when it is finished.");
}

storage::FileStamp SampleFile::stamp_now() const {
  struct stat status {};
  if (::fstat(file_.get(), &status) != 0) storage::refuse(name_, "the file cannot be read: " + storage::errno_text(errno));
  return storage::stamp_of(status);
}

}  // namespace evenwall::internal::audio
