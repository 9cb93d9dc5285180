// SPDX-License-Identifier: GPL-3.0-or-later
// Decides which files an output may replace or extend, by the rules of documents/target_check.hpp and the operations of storage.
#include <sys/stat.h>

#include "documents/target_check.hpp"
#include "evenwall/text_files.hpp"
#include "storage/appending.hpp"
#include "storage/descriptor.hpp"
#include "storage/whole_file.hpp"

namespace evenwall {

void check_writable(const fs::path& path, WriteKind kind) {
  using namespace internal::documents;
  const std::string name = internal::storage::shown(path);
  refuse_audio_name(path, name);
  refuse_audio_name(internal::storage::followed(path, name), name);
  struct stat status {};
  const bool exists = ::stat(path.c_str(), &status) == 0;
  if (exists && S_ISDIR(status.st_mode)) internal::storage::refuse(name, "this is a folder. Name a file.");
  if (exists && kind == WriteKind::kAppend) {
    internal::storage::check_appendable(path, status, name, refuse_unless_readings);
  } else if (!exists || S_ISREG(status.st_mode)) {
    static_cast<void>(internal::storage::WholeFile(path));  // opening a FIFO or a device could already have an effect
    if (exists) refuse_irreplaceable(path, name);
  }
}

void append_line(const fs::path& path, std::string_view line) {
  internal::storage::append(path, line, internal::storage::Repeats::kAdded,
                            [&](int file, const std::string& name) { internal::documents::refuse_unless_fits(file, line, name); });
}

bool append_line_once(const fs::path& path, std::string_view line) {
  return internal::storage::append(path, line, internal::storage::Repeats::kNotAdded,
                                   [&](int file, const std::string& name) { internal::documents::refuse_unless_fits(file, line, name); });
}

}  // namespace evenwall
