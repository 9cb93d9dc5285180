// SPDX-License-Identifier: GPL-3.0-or-later
// Reads a file by position, and the numbers in its headers.
#pragma once

#include <cassert>
#include <cstdint>
#include <string>

namespace evenwall::internal::storage {

/// Reads a file by position, never past its end. It does not own the descriptor.
class FileBytes {
 public:
  /// Throws: Error(kInput) if the size cannot be determined.
  FileBytes(int descriptor, std::string name);
  [[nodiscard]] std::uint64_t size() const { return size_; }
  [[nodiscard]] const std::string& name() const { return name_; }
  [[nodiscard]] std::uint64_t left_from(std::uint64_t offset) const { return offset < size_ ? size_ - offset : 0; }
  /// The `count` bytes at `offset`, fewer only if the file ends. Throws: Error(kInput) if the medium fails.
  [[nodiscard]] std::string read(std::uint64_t offset, std::size_t count) const;

 private:
  int descriptor_;
  std::string name_;
  std::uint64_t size_ = 0;
};

/// Unsigned number of sizeof(T) bytes at `bytes[at]`. Requires: at + sizeof(T) <= bytes.size().
template <typename T>
T little(const std::string& bytes, std::size_t at) {
  assert(at + sizeof(T) <= bytes.size());
  T value = 0;
  for (std::size_t i = sizeof(T); i-- > 0;)
    value = static_cast<T>((static_cast<std::uint64_t>(value) << 8U) | static_cast<unsigned char>(bytes[at + i]));
  return value;
}
template <typename T>
T big(const std::string& bytes, std::size_t at) {
  assert(at + sizeof(T) <= bytes.size());
  T value = 0;
  for (std::size_t i = 0; i < sizeof(T); ++i)
    value = static_cast<T>((static_cast<std::uint64_t>(value) << 8U) | static_cast<unsigned char>(bytes[at + i]));
  return value;
}

}  // namespace evenwall::internal::storage
