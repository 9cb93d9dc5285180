// SPDX-License-Identifier: GPL-3.0-or-later
// Determines whether a session without logged tilts shows in which direction the cartridge must be turned.
#pragma once

#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// Corrects each recording whose own bands show another wiring than those of the session. If as many recordings show one wiring as the
/// other, the wiring that `bands` states becomes the session's. Reports each correction. Requires: channels in their places, polarity not
/// yet corrected.
void correct_by_bands(const Session& session, JointFit& joint);

/// Exchanged channels and a reversed polarity each give the same crosstalk as the opposite tilt:
///
///     exchanged: x_rl = σ + ψ, x_lr = σ − ψ  →  x_rl = σ − ψ, x_lr = σ + ψ        reversed: x → −x
///
/// No crosstalk distinguishes them, and there is no log with which the response could agree. The direction is known only if the stated
/// bands show both in every fitted recording, and the corrections made agree with what each recording shows. Otherwise the sense is
/// undecided, and a warning states the reason. Requires: a session without logged tilts, after the fit.
void settle_direction(const Session& session, JointFit& joint);

}  // namespace evenwall::internal::solve
