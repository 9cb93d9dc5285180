// SPDX-License-Identifier: GPL-3.0-or-later
// Reads the file behind a source of samples, and refuses it if it grows meanwhile.
#pragma once

#include <cstdint>
#include <string>

#include "storage/descriptor.hpp"
#include "storage/file_stamp.hpp"

namespace evenwall::internal::audio {

inline constexpr std::int64_t kWorthPassing = 65536;  ///< frames; decoding so far ahead is faster than seeking

class SampleFile {
 public:
  /// Throws: Error(kInput) if the file's state cannot be read.
  SampleFile(storage::Descriptor file, std::string name);

  [[nodiscard]] int descriptor() const { return file_.get(); }
  [[nodiscard]] const std::string& name() const { return name_; }
  /// Throws: Error(kInput) if the file has grown since it was opened. Call it for each read; it asks the system only once in 250 kB.
  void require_unchanged(std::int64_t bytes_to_read);
  /// Throws: Error(kInput) if the file is not as it was when it was opened; also detects that bytes were replaced by others.
  void require_same() const;
  /// Reads `count` bytes from `offset` on, fewer if the file ends. Returns the number of bytes read; after an input/output error, the
  /// number before it, with errno in error_number.
  std::int64_t read(std::int64_t offset, std::int64_t count, void* out, int& error_number) const;
  /// Throws: Error(kInput), always.
  [[noreturn]] void refuse_medium(std::int64_t frame, int error_number) const;
  [[noreturn]] void refuse_short(std::int64_t frame, std::int64_t declared) const;

 private:
  [[nodiscard]] storage::FileStamp stamp_now() const;
  [[noreturn]] void refuse_changed() const;

  storage::Descriptor file_;
  std::string name_;
  storage::FileStamp at_open_;
  std::int64_t unasked_bytes_ = 0;
};

}  // namespace evenwall::internal::audio
