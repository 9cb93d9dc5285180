// SPDX-License-Identifier: GPL-3.0-or-later
// The file behind a source of samples: it must stay as it is while it is read.
#pragma once

#include <cstdint>
#include <string>

#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {

inline constexpr std::int64_t kWorthPassing = 65536;  ///< frames: so far ahead is sooner decoded than sought

class SampleFile {
 public:
  /// Throws: Error(kInput) where the file's state can't be had.
  SampleFile(storage::Descriptor file, std::string name);

  [[nodiscard]] int descriptor() const { return file_.get(); }
  [[nodiscard]] const std::string& name() const { return name_; }
  /// Throws: Error(kInput) where the file has grown since it was opened. To be called for each read; asks the system once in 250 kB.
  void require_unchanged(std::int64_t bytes_to_read);
  /// Reads from `offset` on until `count` bytes are there or the file ends. Returns the bytes read; on an input/output error those before
  /// it, with errno in error_number.
  std::int64_t read(std::int64_t offset, std::int64_t count, void* out, int& error_number) const;
  /// Throws: Error(kInput), always.
  [[noreturn]] void refuse_medium(std::int64_t frame, int error_number) const;
  [[noreturn]] void refuse_short(std::int64_t frame, std::int64_t declared) const;

 private:
  [[nodiscard]] std::int64_t size_now() const;

  storage::Descriptor file_;
  std::string name_;
  std::int64_t size_at_open_ = 0;
  std::int64_t unasked_bytes_ = 0;
};

}  // namespace evenwall::internal::audio
