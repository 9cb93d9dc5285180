// SPDX-License-Identifier: GPL-3.0-or-later
// Holds a session: its facts and its steps.
#pragma once

#include <vector>

#include "evenwall/model/reading.hpp"

namespace evenwall {

/// The input of `solve`.
struct Session {
  SessionFacts facts;
  std::vector<Step> steps;
  Warnings warnings;  ///< from reading the log and the session file
};

}  // namespace evenwall
