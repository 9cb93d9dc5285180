// SPDX-License-Identifier: GPL-3.0-or-later
// The one way the library says that it cannot go on.
#pragma once

#include <stdexcept>
#include <string>

namespace evenwall {

/// What kind of thing went wrong.
enum class ErrorKind {
  kInput,     ///< a file, log or document cannot be read or written as it is
  kData,      ///< it was read, but what it holds gives no answer
  kInternal,  ///< a fault of this program
};

/// The message is one line: which file or step, what was found, what to do.
class Error : public std::runtime_error {
 public:
  Error(ErrorKind kind, const std::string& message) : std::runtime_error(message), kind_(kind) {}
  [[nodiscard]] ErrorKind kind() const noexcept { return kind_; }

 private:
  ErrorKind kind_;
};

}  // namespace evenwall
