// SPDX-License-Identifier: GPL-3.0-or-later
// Writes a file that appears complete or not at all.
#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>

#include "storage/descriptor.hpp"
#include "storage/unfinished.hpp"

namespace evenwall::internal::storage {

/// Writes to a file without a name in the target's folder, which commit() puts in the target's place. If the file system has no such
/// files, it uses a temporary name in that folder. A pipe, a device or an open descriptor (/dev/stdout) is written directly.
class WholeFile {
 public:
  /// Follows symbolic links, and removes temporary files that killed runs left beside the target. Throws: Error(kInput), also for a file
  /// that is write-protected or belongs to another user.
  explicit WholeFile(const std::filesystem::path& path);

  [[nodiscard]] int descriptor() const { return file_.get(); }
  [[nodiscard]] bool is_direct() const { return target_.empty(); }
  void write(std::string_view bytes) { write_all(file_.get(), bytes, name_); }
  /// Calls fsync, rename, and fsync of the folder. A failed fsync is reported and never repeated. Throws: Error(kInput); the old file is
  /// then intact. If only the folder could not be synced, the new file is in place and complete.
  void commit() { put_in_place(Existing::kReplaced); }
  /// Does the same, unless a file has the name already: then it returns false and changes nothing.
  [[nodiscard]] bool commit_as_new() { return put_in_place(Existing::kKept); }
  /// The file's identity, which stays the same when the file is put in its place.
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
  std::optional<Unfinished> temporary_;  // the file's name until it is in its place
};

/// The path that a write to this path goes to: symbolic links are followed, also those to files that do not exist yet. Throws:
/// Error(kInput) for a loop, and for another user's link in a folder that all users may write to.
std::filesystem::path followed(std::filesystem::path path, const std::string& name);

/// Creates a file that does not exist yet with its first line, completely or not at all. Returns false, with nothing done, if the path
/// exists, also as something else than a regular file. Throws: Error(kInput).
bool begin_with_line(const std::filesystem::path& path, std::string_view line);

/// Throws: Error(kInput) if the file's mode allows no writing: to the owner for a file of this user, to any user otherwise. This stops
/// root too.
void refuse_write_protected(const struct stat& existing, const std::string& name);

/// Makes a folder's entries safe against a power cut. Throws: Error(kInput).
void sync_folder(const std::filesystem::path& folder, const std::string& name);

}  // namespace evenwall::internal::storage
