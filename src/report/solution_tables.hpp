// SPDX-License-Identifier: GPL-3.0-or-later
// The tables of a solution, the same on every page.
#pragma once

#include "evenwall/model.hpp"
#include "report/page.hpp"

namespace evenwall::internal::report {

/// Crosstalk before and after.
TextTable expectation_table(const Solution& solution);
TextTable criteria_table(const Solution& solution);
TextTable frequency_table(const Solution& solution);
/// The steps, their heads short enough for a terminal.
TextTable step_table(const Solution& solution);
/// The steps with all that the document holds of them, for a page wider than a terminal.
TextTable full_step_table(const Solution& solution);
TextTable uncertainty_table(const Solution& solution);

}  // namespace evenwall::internal::report
