// SPDX-License-Identifier: GPL-3.0-or-later
// From the answer to the hand: contact, shim, and what to capture next.
#pragma once

#include "evenwall/model.hpp"
#include "solve/criteria.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

Contact contact_of(double tilt_deg, const SessionFacts& facts, const SolveOptions& options);

/// A shim sits under the cartridge's top, between it and the headshell: it LOWERS the side where it sits.
/// start_deg: true tilt the cartridge stands at, where the options do not tell.
Shim shim_of(double tilt_deg, double start_deg, Sense sense, const SessionFacts& facts, const SolveOptions& options);

/// Log zero; on a user's ruler whose zero lies outside the captured settings, the captured setting nearest it: no cartridge stood at zero.
double start_deg_of(const JointFit& joint);

/// The tilt whose capture would shrink the interval most; nothing where one more would not help by a tenth.
std::optional<NextStep> next_step_of(CriterionKind kind, const CriterionTilt& tilt, const JointFit& joint);

}  // namespace evenwall::internal::solve
