// SPDX-License-Identifier: GPL-3.0-or-later
// Writes the first lines of a text about a solution.
#pragma once

#include <string>

#include "evenwall/model.hpp"
#include "report/page.hpp"

namespace evenwall::internal::report {

/// Adds the result of the verification, if the solution has a result to show (verified_headline), and the answer below it. A verification
/// that does not agree is shown as an alert.
void add_headline(Page& page, const Solution& solution, const std::string& answer);

}  // namespace evenwall::internal::report
