// SPDX-License-Identifier: GPL-3.0-or-later
// States whether the work is done, and lists the known effects that were corrected.
#pragma once

#include "evenwall/model.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// The angle within which the azimuth is good enough: that of the options, otherwise that of the session, otherwise 0.05°.
double tolerance_deg_of(const Solution& solution);

/// The first of these states that holds (docs/method.md, "The turn that remains"):
///
/// - check: the last verification does not agree, three steps contradict each other, or `bands` contradicts the log in two ways that one
///   wrong order of `bands` explains;
/// - enough: half of the turn's 95 % interval is within the tolerance, and so is |turn| or the turn to the adjuster's nearest setting;
/// - check: a step is named as logged wrong or was excluded because of its crosstalk;
/// - turn: half of the interval is within the tolerance;
/// - capture_more.
///
/// Requires: `now`, `nearest_setting`, `verification`, `steps` and `warnings` of the solution are final.
Verdict verdict_of(const Solution& solution);

/// The text of the verdict capture_more: to split a recording of several settings, otherwise the next step of the solution. Requires:
/// `steps`, `warnings` and `next_step` of the solution are final.
std::string capture_more_text(const Solution& solution);

/// A warning if the last verification does not agree with its prediction, with the turn that remains.
Warnings verification_warnings(const Solution& solution);

/// The known effects that were removed before the fit: electronics by a calibration, swapped channels, reversed polarity, and the record's
/// cutting-azimuth error.
std::vector<Correction> corrections_of(const Session& session, const JointFit& joint, const SolveOptions& options);

}  // namespace evenwall::internal::solve
