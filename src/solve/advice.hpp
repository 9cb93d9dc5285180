// SPDX-License-Identifier: GPL-3.0-or-later
// Turns the recommended tilt into advice: the stylus's contact limit, the shim, and the next capture.
#pragma once

#include "evenwall/model.hpp"
#include "solve/criteria.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

Contact contact_of(double tilt_deg, const SessionFacts& facts, const SolveOptions& options);

/// A shim sits under the cartridge's top, between it and the headshell: it LOWERS the side where it sits.
/// start_deg: true tilt of the cartridge before the move, used if the options do not give one.
Shim shim_of(double tilt_deg, double start_deg, Sense sense, const SessionFacts& facts, const SolveOptions& options);

/// Start of the shim's move, true degrees: the log's zero. If the log is in user units and its zero lies outside the captured settings, it
/// is the captured setting nearest to zero, because the cartridge was never set to zero.
double start_deg_of(const JointFit& joint);

enum class Advise { kIfWorthwhile, kAlways };

/// The tilt at which one more capture would shrink the interval most. Nothing, unless always wanted, if that would not lower the standard
/// uncertainty by a tenth; however, it is also given if the answer lies outside the captured tilts. `lasting_deg`: the part of the standard
/// uncertainty that no further recording reduces (uncertainty.hpp).
std::optional<NextStep> next_step_of(CriterionKind kind, const CriterionTilt& tilt, double lasting_deg, const JointFit& joint,
                                     Advise when = Advise::kIfWorthwhile);

}  // namespace evenwall::internal::solve
