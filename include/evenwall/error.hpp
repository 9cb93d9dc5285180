// SPDX-License-Identifier: GPL-3.0-or-later
// Defines the exception by which the library reports that it cannot continue.
#pragma once

#include <stdexcept>
#include <string>

namespace evenwall {

/// The kind of failure.
enum class ErrorKind {
  kInput,     ///< a file, log or document cannot be read, or cannot be written
  kData,      ///< the input was read, but no result can be computed from it
  kInternal,  ///< a fault of this program
};

/// The message is one line. It names the file or step, what was found, and what to do.
class Error : public std::runtime_error {
 public:
  Error(ErrorKind kind, const std::string& message) : std::runtime_error(message), kind_(kind) {}
  [[nodiscard]] ErrorKind kind() const noexcept { return kind_; }

 private:
  ErrorKind kind_;
};

}  // namespace evenwall
