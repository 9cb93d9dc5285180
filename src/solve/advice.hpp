// From the answer to the hand: contact, shim, and what to capture next.
#pragma once

#include "evenwall/model.hpp"
#include "solve/criteria.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall {

Contact contact_of(double tilt_deg, const SessionFacts& facts, const SolveOptions& options);

/// A shim sits under the cartridge's top, between it and the headshell: it LOWERS the side where it sits.
Shim shim_of(double tilt_deg, Sense sense, const SessionFacts& facts, const SolveOptions& options);

/// The tilt whose capture would shrink the interval most; nothing where one more would not help by a tenth.
std::optional<NextStep> next_step_of(CriterionKind kind, const CriterionTilt& tilt, const JointFit& joint);

}  // namespace evenwall
