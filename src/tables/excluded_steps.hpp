// SPDX-License-Identifier: GPL-3.0-or-later
// Steps that cannot be used: the first few named one by one, the others counted, so that a broken log never fills the memory with messages.
#pragma once

#include <string>

#include "evenwall/model.hpp"

namespace evenwall::internal::tables {

class ExcludedSteps {
 public:
  /// `source`: the log or the readings, for the message that counts.
  explicit ExcludedSteps(std::string source) : source_(std::move(source)) {}
  /// Counts one. Returns whether it is among the first: those stay as steps, and `warnings` names them with what is in front of the
  /// message.
  bool add(const std::string& message, Warnings& warnings, const char* in_front = "");
  /// Adds the warning that counts those that were not named, if there are any.
  void count(Warnings& warnings) const;

 private:
  std::string source_;
  std::size_t excluded_ = 0;
  std::string last_;  ///< what was wrong with the last one
};

}  // namespace evenwall::internal::tables
