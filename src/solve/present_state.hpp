// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the turn from the state that a recording shows to the recommended azimuth.
#pragma once

#include <optional>

#include "evenwall/model.hpp"
#include "solve/choice.hpp"
#include "solve/criteria.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// The recording that shows the present state of the cartridge.
struct PresentState {
  std::size_t step = 0;  ///< index into Session::steps
  TurnFrom from = TurnFrom::kLast;
};

/// The verifying recording if it is the last one, otherwise the last one by sequence (by row, if not every row has a sequence number).
/// Recordings that are logged `no` or `as_found`, and excluded ones, do not count. Empty if no recording remains.
std::optional<PresentState> present_state_of(const Session& session, const JointFit& joint);

/// True tilt of a stated azimuth. In a log in degrees it is read on the gauge of the log, with its sense and scale.
double stated_start_deg(double stated_deg, const JointFit& joint);

/// The turn from this state to the tilt at which the criterion is met. The crosstalk alone determines it: the tilt of one recording from
/// least crosstalk, and the response, by the fit of the crosstalk (signal_fit.hpp), without the log. Uncertainties of the electronics, the
/// groove, the slopes and a stated record count; those of the gauge do not. A recording
/// that is not in the session's fit may have a gain and delay of its own, by evidence; `warnings` then gets `recordings_differ`. Empty if
/// no interval exists within reach of least crosstalk, or the turn exceeds the largest possible tilt. Accuracy:
/// tests/unit/solve/present_state_test.cpp. Source: docs/method.md, "The turn that remains".
std::optional<CriterionTilt> turn_by_crosstalk(const PresentState& state, CriterionKind kind, const Session& session, const JointFit& joint,
                                               Warnings& warnings);

/// Requires: solution.recommended and tilt_response are final.
std::optional<Now> now_of(const Choice& choice, const Session& session, const JointFit& joint, const Solution& solution,
                          Warnings& warnings);

/// Requires: solution.recommended is final.
SetTo set_to_of(const JointFit& joint, const Solution& solution);

}  // namespace evenwall::internal::solve
