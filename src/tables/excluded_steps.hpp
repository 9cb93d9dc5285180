// SPDX-License-Identifier: GPL-3.0-or-later
// Reports steps that cannot be used: names the first few and counts the others, so that a broken log never fills the memory with messages.
#pragma once

#include <string>

#include "evenwall/model.hpp"

namespace evenwall::internal::tables {

class ExcludedSteps {
 public:
  /// `source`: name of the log or the readings, for the message with the count.
  explicit ExcludedSteps(std::string source) : source_(std::move(source)) {}
  /// Counts one step. Returns whether it is one of the first few: these remain in the list of steps, and a warning is added with `in_front`
  /// before the message.
  bool add(const std::string& message, Warnings& warnings, const char* in_front = "");
  /// Adds a warning with the number of steps that were not named, if there are any.
  void count(Warnings& warnings) const;

 private:
  std::string source_;
  std::size_t excluded_ = 0;
  std::string last_;  ///< message of the last step that was not named
};

}  // namespace evenwall::internal::tables
