// SPDX-License-Identifier: GPL-3.0-or-later
// Holds file descriptors that close themselves, and describes errors of the file system in one line.
#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <utility>

namespace evenwall::internal::storage {

class Descriptor {
 public:
  Descriptor() = default;
  explicit Descriptor(int number) : number_(number) {}
  Descriptor(Descriptor&& other) noexcept : number_(std::exchange(other.number_, -1)) {}
  Descriptor& operator=(Descriptor&& other) noexcept {
    std::swap(number_, other.number_);
    return *this;
  }
  Descriptor(const Descriptor&) = delete;
  Descriptor& operator=(const Descriptor&) = delete;
  ~Descriptor();

  [[nodiscard]] int get() const { return number_; }
  /// Closes and returns 0 or the error number: some media report a failed write only here.
  int close();

 private:
  int number_ = -1;
};

/// The system's text for an error number, and advice: "No space left on device. Make room, or choose another place."
std::string errno_text(int error_number);

/// Throws Error(kInput) "name: found". `name` is already escaped for display.
[[noreturn]] void refuse(const std::string& name, const std::string& found);

/// The path, escaped for display.
std::string shown(const std::filesystem::path& path);

/// Opens for reading; waits for a FIFO's writer (storage/waiting.hpp). Throws: Error(kInput) if the path is neither a regular file nor a
/// FIFO, if it cannot be opened, or if it has had no writer for too long.
Descriptor open_input(const std::filesystem::path& path);

/// Reads at most `count` bytes; repeats interrupted reads. Returns 0 at the end. Throws: Error(kInput).
std::size_t read_some(int descriptor, char* out, std::size_t count, const std::string& name);

/// Writes all bytes; repeats interrupted writes, and waits also on a non-blocking descriptor (O_NONBLOCK). Returns 0 or the error number.
int write_fully(int descriptor, std::string_view bytes) noexcept;

/// Does the same. Throws: Error(kInput).
void write_all(int descriptor, std::string_view bytes, const std::string& name);

/// Copies the rest of a stream into a temporary file without a name in any folder. Throws: Error(kInput).
Descriptor spool(int stream, const std::string& name);

/// Makes the temporary files for the next `count` calls of spool() (at most 64), for a process that will not be able to make them itself.
/// If one cannot be made, the call of spool() that would have used it reports the error.
void prepare_spools(std::size_t count);

/// Whether the descriptor is a regular file, so that reads by position work on it.
bool is_regular(int descriptor);

}  // namespace evenwall::internal::storage
