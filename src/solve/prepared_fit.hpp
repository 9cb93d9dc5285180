// SPDX-License-Identifier: GPL-3.0-or-later
// Prepares the recordings of a session for the fit at one frequency.
#pragma once

#include "evenwall/model.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// Subtracts the electronics' crosstalk, then puts swapped channels back in their places on the cartridge.
void put_in_places(Observation& observation, const std::optional<CalibrationPoint>& electronics, const WiringEvidence& evidence);

/// The session's facts and recordings at one frequency, the electronics' crosstalk subtracted, and the session's wiring corrected.
/// Throws: Error(kData) if no step can be used.
JointFit arranged(const Session& session, const SolveOptions& options);

/// The same, with single recordings of other wiring corrected, the spread of the recordings' gains found, and contradictory recordings
/// excluded. Only the fit is missing. Throws: also if the recordings contradict each other and no single one is wrong.
JointFit prepared(const Session& session, const SolveOptions& options);

/// Reverses the polarity of one channel inside the fit.
void turn_polarity(JointFit& joint);

/// Gives the crosstalk the variance that its own scatter shows.
void widen(Observations& observations);

}  // namespace evenwall::internal::solve
