// SPDX-License-Identifier: GPL-3.0-or-later
// A session: the steps of a log, each with its reading.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/model/reading.hpp"

namespace evenwall {

/// A step as the log has it, beside what was measured at it.
struct Step {
  Reading reading;
  OptionalNumber from_s, to_s;
  bool leads_swapped = false;
  bool phases_measured = true;  ///< false: a meter's sizes only, same_passage.value then real and positive
  OptionalNumber sequence;
  std::optional<std::string> approach;  ///< "up" or "down"
  std::string note;
};

/// What `solve` takes: one session.
struct Session {
  SessionFacts facts;
  std::vector<Step> steps;
  Warnings warnings;  ///< from reading the log and the session file
};

}  // namespace evenwall
