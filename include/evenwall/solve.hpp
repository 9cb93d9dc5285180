// SPDX-License-Identifier: GPL-3.0-or-later
// Readings at several tilts -> Solution.
#pragma once

#include "evenwall/model.hpp"

namespace evenwall {

/// Fits all usable steps of a session together and says at which tilt the cartridge serves both groove walls alike.
///
/// Steps may come in any order: the result is the same bit for bit. Steps that have an error, lack a side at the chosen
/// frequency or have no tilt are excluded and named in `warnings`.
/// Tilts are positive clockwise as seen from the front, in degrees on the scale of the log (tilt_units: times the solved scale).
/// `options` win over session.facts. Nothing is kept between calls.
/// Throws: Error(kData) where no step is left, no frequency has both sides, or the 95 % interval of least crosstalk does not end
/// within 6° of it (20° where the steps alone tell how well the gauge is set), where it would lie beyond 45°, where the
/// leaks are those of no one cartridge and no step is clearly to blame, or where tilts and leaks give no numbers together.
/// Accuracy: least crosstalk 0.001° rms over random sessions of five tilts with noise, clicks and warp (0.003° asserted, tests/truth);
/// 95 % intervals hold the truth as often as they say (tests/study/coverage_study.cpp, docs/accuracy.md).
/// Source: docs/method.md; IEC 60098 for the signs.
Solution solve(const Session& session, const SolveOptions& options);

}  // namespace evenwall
