// SPDX-License-Identifier: GPL-3.0-or-later
// What a solution was made from and by.
#pragma once

#include "evenwall/model.hpp"
#include "report/page.hpp"

namespace evenwall::internal::report {

/// Program and method, then every fact and option that the document holds. Two columns, the second of words.
TextTable inputs_table(const Solution& solution);

/// The same of a survey.
TextTable survey_inputs_table(const Survey& survey);

}  // namespace evenwall::internal::report
