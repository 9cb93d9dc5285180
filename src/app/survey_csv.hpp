// SPDX-License-Identifier: GPL-3.0-or-later
// A survey as CSV.
#pragma once

#include <string>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// A head row, then one row for each cartridge, record, group and bad solution, the mean and the mean of equal crosstalk; `kind` says
/// which.
std::string survey_csv(const Survey& survey);

}  // namespace evenwall::internal::app
