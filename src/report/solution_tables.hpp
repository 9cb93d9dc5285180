// SPDX-License-Identifier: GPL-3.0-or-later
// Makes the tables of a solution, which are the same on every page.
#pragma once

#include "evenwall/model.hpp"
#include "report/page.hpp"

namespace evenwall::internal::report {

/// Crosstalk before and after.
TextTable expectation_table(const Solution& solution);
TextTable criteria_table(const Solution& solution);
TextTable frequency_table(const Solution& solution);
/// The steps, with headings that are short enough for a terminal.
TextTable step_table(const Solution& solution);
/// The steps with more columns and the phases, for a page that is wider than a terminal.
TextTable full_step_table(const Solution& solution);
/// The recordings with the first 12 digits of their SHA-256, each recording once; only the headings if there is no SHA-256.
TextTable hash_table(const Solution& solution);
TextTable uncertainty_table(const Solution& solution);

}  // namespace evenwall::internal::report
