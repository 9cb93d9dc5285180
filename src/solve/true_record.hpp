// SPDX-License-Identifier: GPL-3.0-or-later
// Converts the answers for the record at hand to those for an error-free cut.
#pragma once

#include "evenwall/model.hpp"

namespace evenwall::internal::solve {

/// Subtracts the record's cutting-azimuth error from every tilt that is an answer: the recommended one, the criteria, those by frequency
/// and the curves. Steps, corrections to the logged azimuth, verifications and the next step stay as the log of this record has them.
void take_out_cut_error(const RecordCorrection& correction, Solution& solution);

}  // namespace evenwall::internal::solve
