// SPDX-License-Identifier: GPL-3.0-or-later
// A session: its facts and its steps.
#pragma once

#include <vector>

#include "evenwall/model/reading.hpp"

namespace evenwall {

/// What `solve` takes.
struct Session {
  SessionFacts facts;
  std::vector<Step> steps;
  Warnings warnings;  ///< from reading the log and the session file
};

}  // namespace evenwall
