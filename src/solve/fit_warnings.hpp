// SPDX-License-Identifier: GPL-3.0-or-later
// Reports what the fit of a session shows about the gauge, the levels and the number of steps. Each function adds to the warnings.
#pragma once

#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// The magnitude of the log's degree, by the signal.
void judge_scale(JointFit& joint);

/// A probable compression, if the tones have a large third harmonic. Returns whether it is reported.
bool judge_compression(const Session& session, JointFit& joint);
/// The levels of the bands as cut, by the tilt response.
void judge_cut_levels(JointFit& joint);
/// The quantities that magnitudes alone do not determine, and any contradiction between the readings.
void judge_sizes(JointFit& joint);
/// How well the gauge is known, and too few settings.
void judge_gauge(const Session& session, JointFit& joint);
/// Too few azimuths in a session without logged tilts, and a last recording that is excluded.
void judge_turn(const Session& session, JointFit& joint);

}  // namespace evenwall::internal::solve
