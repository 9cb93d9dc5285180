// SPDX-License-Identifier: GPL-3.0-or-later
// File descriptors that close themselves, and the errors of the file system in one line.
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

/// Text of an error number, as the system words it, and what to do: "No space left on device; make room, or choose another place".
std::string errno_text(int error_number);

/// Throws Error(kInput) "name: found". `name` is already fit to show.
[[noreturn]] void refuse(const std::string& name, const std::string& found);

/// A path fit to show.
std::string shown(const std::filesystem::path& path);

/// Opens for reading; waits for a FIFO's writer (storage/waiting.hpp). Throws: Error(kInput) for whatever is neither a regular file nor a
/// FIFO, cannot be opened, or has had no writer for too long.
Descriptor open_input(const std::filesystem::path& path);

/// Reads at most `count` bytes, over interruptions. Returns 0 at the end. Throws: Error(kInput).
std::size_t read_some(int descriptor, char* out, std::size_t count, const std::string& name);

/// Writes all, over interruptions, and waits for a descriptor that was made not to wait (O_NONBLOCK). 0, or the error number.
int write_fully(int descriptor, std::string_view bytes) noexcept;

/// The same. Throws: Error(kInput).
void write_all(int descriptor, std::string_view bytes, const std::string& name);

/// Copies the rest of a stream into a temporary file that no folder lists. Throws: Error(kInput).
Descriptor spool(int stream, const std::string& name);

/// Makes the temporary files of so many spool() to come (of 64 at most), for a process that will not be able to. What goes wrong is told by
/// the spool() that would have had the file.
void prepare_spools(std::size_t count);

/// Whether reads by position work on it.
bool is_regular(int descriptor);

}  // namespace evenwall::internal::storage
