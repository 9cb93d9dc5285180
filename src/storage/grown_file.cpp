// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/grown_file.hpp"

#include <unistd.h>

#include <cerrno>
#include <string>

#include "evenwall/text_files.hpp"
#include "storage/descriptor.hpp"
#include "storage/whole_file.hpp"

namespace evenwall::internal::storage {
namespace {

constexpr std::size_t kLargest_bytes = 64U << 20U;  // the limit of a step log

}  // namespace

bool grow(const std::filesystem::path& path, const std::optional<FileStamp>& seen, std::string_view added) {
  const std::string name = shown(path);
  if (stamp_of(path) != seen) return false;
  const std::string text = seen ? read_text(path, kLargest_bytes) : std::string();
  WholeFile file(path);
  if (file.is_direct()) refuse(name, "this is not a regular file, so nothing can be added to it. Nothing was written. Use a file.");
  file.write(text);
  file.write(added);
  // The file is synced here, so that only the rename comes between the next check and the end.
  if (::fsync(file.descriptor()) != 0 && errno != EINVAL && errno != ENOTSUP && errno != EROFS) {
    refuse(name, "the file cannot be made safe on the medium: " + errno_text(errno));
  }
  if (stamp_of(path) != seen) return false;
  if (!seen) return file.commit_as_new();
  file.commit();
  return true;
}

}  // namespace evenwall::internal::storage
