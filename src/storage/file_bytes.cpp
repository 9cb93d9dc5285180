// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/file_bytes.hpp"

#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>

#include "storage/descriptor.hpp"

namespace evenwall::internal::storage {

FileBytes::FileBytes(int descriptor, std::string name) : descriptor_(descriptor), name_(std::move(name)) {
  struct stat status {};
  if (::fstat(descriptor, &status) != 0) refuse(name_, "the file cannot be read: " + errno_text(errno));
  size_ = static_cast<std::uint64_t>(status.st_size);
}

std::string FileBytes::read(std::uint64_t offset, std::size_t count) const {
  std::string bytes(static_cast<std::size_t>(std::min<std::uint64_t>(count, left_from(offset))), '\0');
  std::size_t done = 0;
  while (done < bytes.size()) {
    const ssize_t n = ::pread(descriptor_, bytes.data() + done, bytes.size() - done, static_cast<off_t>(offset + done));
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) refuse(name_, "the file cannot be read: " + errno_text(errno));
    if (n == 0) break;  // the file shrank meanwhile
    done += static_cast<std::size_t>(n);
  }
  bytes.resize(done);
  return bytes;
}

}  // namespace evenwall::internal::storage
