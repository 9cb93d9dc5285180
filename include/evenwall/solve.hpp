// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the recommended azimuth from readings at several tilts.
#pragma once

#include "evenwall/model.hpp"

namespace evenwall {

/// Fits all usable steps of a session together and computes the tilt at which the cartridge responds equally to both groove walls.
///
/// Steps may come in any order: the result is the same bit for bit. Steps that have an error or lack a side at the chosen frequency are
/// excluded and named in `warnings`. Steps without a tilt inform the response only, and are named in `warnings`. If no step has a tilt, the
/// tilts count from the last step, by sequence or by order, and the tilt to set is a turn (Recommended::from_capture).
/// Tilts are positive clockwise as seen from the front, in degrees on the scale of the log (tilt_units: times the solved scale).
/// `options` take precedence over session.facts. No state is kept between calls.
/// Throws: Error(kData) if no step remains, if no frequency has both sides, if the 95 % interval of least crosstalk does not end within 6°
/// of it (20° if the gauge's scatter is estimated from the steps), if least crosstalk would lie beyond 45°, if the crosstalk cannot come
/// from one cartridge and no single step is clearly the cause, or if tilts and crosstalk together give no finite numbers.
/// Accuracy: least crosstalk 0.001° rms over random sessions of five tilts with noise, clicks and warp (0.003° asserted, tests/truth);
/// 95 % intervals contain the true value in 95 % of the sessions (tests/study/coverage_study.cpp, docs/accuracy.md).
/// Source: docs/method.md; IEC 60098:2020 for the signs.
Solution solve(const Session& session, const SolveOptions& options);

}  // namespace evenwall
