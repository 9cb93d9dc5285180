// SPDX-License-Identifier: GPL-3.0-or-later
// Lists the inputs of a solution or a survey, and the program and method that made it.
#pragma once

#include "evenwall/model.hpp"
#include "report/page.hpp"

namespace evenwall::internal::report {

/// Program and method, then the facts and options that the document holds. Two columns; the second holds words.
TextTable inputs_table(const Solution& solution);

/// The same table for a survey.
TextTable survey_inputs_table(const Survey& survey);

}  // namespace evenwall::internal::report
