// SPDX-License-Identifier: GPL-3.0-or-later
// A file that appears whole or not at all.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "storage/descriptor.hpp"
#include "storage/unfinished.hpp"

namespace evenwall::internal::storage {

/// A file without a name in the target's folder, which takes the target's place on commit(). If the file system has no such files, a
/// temporary name beside the target. A pipe, a device or an open descriptor (/dev/stdout) is written directly.
class WholeFile {
 public:
  /// Follows symbolic links, and removes what killed runs left beside the target. Throws: Error(kInput), also for a file that is
  /// write-protected or belongs to another user.
  explicit WholeFile(const std::filesystem::path& path);

  [[nodiscard]] int descriptor() const { return file_.get(); }
  [[nodiscard]] bool is_direct() const { return target_.empty(); }
  void write(std::string_view bytes) { write_all(file_.get(), bytes, name_); }
  /// fsync, rename, fsync of the folder; a failed fsync is reported and never tried again. Throws: Error(kInput), the old file then
  /// intact. If only the folder could not be synced, the new file is in place and whole.
  void commit() { put_in_place(Existing::kReplaced); }
  /// The same, unless a file has the name already: returns false then, and nothing is changed.
  [[nodiscard]] bool commit_as_new() { return put_in_place(Existing::kKept); }
  /// The file as it will be in its place.
  [[nodiscard]] FileIdentity identity() const;

 private:
  enum class Existing { kReplaced, kKept };

  void open_unnamed_or_named();
  void open_named();
  void keep_mode_of(const struct stat& existing);
  void give_name();
  bool close_and_rename(Existing existing);
  bool put_in_place(Existing existing);
  [[noreturn]] void refuse_errno(const char* what, int error_number) const;

  std::string name_;
  std::filesystem::path target_;
  Descriptor file_;
  std::optional<Unfinished> temporary_;  // the name that the file has until it is in its place
};

/// Where a write to the path goes: symbolic links followed, also those that lead to nothing yet. Throws: Error(kInput) for a loop, and for
/// another user's link in a folder where everybody may write.
std::filesystem::path followed(std::filesystem::path path, const std::string& name);

/// A file that does not exist yet appears with its first line, whole or not at all. Returns false, with nothing done, if it exists or is no
/// regular file. Throws: Error(kInput).
bool begin_with_line(const std::filesystem::path& path, std::string_view line);

/// Throws: Error(kInput) if nobody who owns the file may write to it, by its mode: that stops root too.
void refuse_write_protected(const struct stat& existing, const std::string& name);

/// Makes a folder's entries safe against a power cut. Throws: Error(kInput).
void sync_folder(const std::filesystem::path& folder, const std::string& name);

}  // namespace evenwall::internal::storage
