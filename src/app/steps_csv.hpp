// SPDX-License-Identifier: GPL-3.0-or-later
// Writes the steps of a solution as CSV.
#pragma once

#include <string>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// A header row and one row for each step, with RFC 4180 quoting, decimal points and LF. A text that a spreadsheet would take for a formula
/// gets a leading apostrophe.
std::string steps_csv(const Solution& solution);

}  // namespace evenwall::internal::app
