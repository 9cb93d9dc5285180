// A file that appears whole or not at all.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>

#include "files/descriptor.hpp"

namespace evenwall {

/// A temporary file beside the target, which takes its place on commit() and goes where that never happens.
/// What is no regular file (FIFO, /dev/null, /dev/stdout) is written directly, if the caller allows it.
class WholeFile {
 public:
  /// Follows symbolic links and clears temporary files that earlier runs left here. Throws: Error(kInput).
  explicit WholeFile(const std::filesystem::path& path);
  WholeFile(const WholeFile&) = delete;
  WholeFile& operator=(const WholeFile&) = delete;
  ~WholeFile();

  [[nodiscard]] int descriptor() const { return file_.get(); }
  [[nodiscard]] bool is_direct() const { return temporary_.empty(); }
  void write(std::string_view bytes) { write_all(file_.get(), bytes, name_); }
  /// fsync, rename, fsync of the folder; a failed fsync is reported and never tried again. Throws: Error(kInput), the old file then
  /// intact, but where only the folder could not be synced: the new one then stands whole.
  void commit();

 private:
  void open_temporary();

  std::string name_;
  std::filesystem::path target_;
  std::filesystem::path temporary_;
  Descriptor file_;
};

/// Makes a folder's entries safe against a power cut. Throws: Error(kInput).
void sync_folder(const std::filesystem::path& folder, const std::string& name);

}  // namespace evenwall
