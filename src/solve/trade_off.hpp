// SPDX-License-Identifier: GPL-3.0-or-later
// Tabulates what each choice of the azimuth costs.
#pragma once

#include <optional>
#include <vector>

#include "evenwall/model.hpp"
#include "solve/band_optimum.hpp"
#include "solve/choice.hpp"

namespace evenwall::internal::solve {

/// What the fits give over the band.
BandResult band_result(const BandFit& band, const BandRoot& least, const CriterionTilt& single, double recommended_deg,
                       Weighting weighting);

/// A row for each candidate that exists, in the order of the enumeration. Levels are those of `account`, which is that of the answer
/// (curves.hpp).
/// Requires: all other parts of the solution that state tilts, corrected for the record if it is to be corrected.
std::vector<TradeOffRow> trade_off_of(const Solution& solution, const JointFit& joint, const TiltAccount& account, const BandFit* band);

}  // namespace evenwall::internal::solve
