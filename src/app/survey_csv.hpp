// SPDX-License-Identifier: GPL-3.0-or-later
// Writes a survey as CSV.
#pragma once

#include <string>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// A header row, then one row for the mean and for each cartridge, equal-crosstalk tilt, record, group and bad solution. The column `kind`
/// names the kind of the row.
std::string survey_csv(const Survey& survey);

}  // namespace evenwall::internal::app
