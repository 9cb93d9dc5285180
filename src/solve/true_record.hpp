// SPDX-License-Identifier: GPL-3.0-or-later
// Answers for a truly cut record out of those for the record at hand.
#pragma once

#include "evenwall/model.hpp"

namespace evenwall::internal::solve {

/// Moves every tilt that is an answer by minus the record's cut error: the recommended one, the criteria, those by frequency and the
/// curves. Steps, audits, verifications and the next step stay as the log of this record has them.
void take_out_cut_error(const RecordCorrection& correction, Solution& solution);

}  // namespace evenwall::internal::solve
