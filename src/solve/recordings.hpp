// SPDX-License-Identifier: GPL-3.0-or-later
// Finds recordings that differ from the others of a session: in wiring, gain, delay, or crosstalk that is not the cartridge's.
#pragma once

#include <cstddef>
#include <optional>

#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// Corrects recordings of other wiring, finds the spread of the recordings' gains, and excludes recordings whose crosstalk contradicts
/// the others. Reports each in the warnings. Requires: phases known, channels in their places by the session's wiring.
/// Throws: Error(kData) if the steps contradict each other as if they were of several cartridges, and no step is clearly wrong.
void settle_recordings(const Session& session, JointFit& joint);

/// Notes that a recording was wired otherwise than the others, and warns of it.
void report_wiring(const StepWiring& wiring, const Session& session, std::size_t step, JointFit& joint);

/// Warns of gains and delays that differ between recordings.
void warn_of_own_gains(const JointFit& joint, Warnings& warnings);

/// The observation of a step that is not fitted, with its channels in their places. Empty if it has no crosstalk at the fitted frequency.
std::optional<Observation> observation_outside(const Session& session, std::size_t step, const JointFit& joint);

/// Finds recordings outside of the fit (`verify`, `as_found`, `no`) that were wired otherwise than the fitted ones. Their crosstalk and
/// levels are compared with the fitted response, whatever tilt is logged. Reports them in the warnings.
void find_wiring_outside(const Session& session, JointFit& joint);

/// The own ln gain of a recording outside of the fit, by its levels and its both-channel passage; 0 if all recordings are alike.
Complex own_gain_outside(const Observation& observation, const JointFit& joint);

}  // namespace evenwall::internal::solve
