// SPDX-License-Identifier: GPL-3.0-or-later
// One session's joint fit: wiring and sense settled, signal and log fitted.
#pragma once

#include <algorithm>
#include <vector>

#include "evenwall/model.hpp"
#include "solve/observations.hpp"
#include "solve/step_wiring.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

struct JointFit {
  Observations observations;  ///< channels in their places
  WiringEvidence wiring;
  GainPriors gains;
  GaugePriors gauge;
  SignalFit signal;
  TiltFit tilt;
  std::optional<SignalFit> by_response;         ///< gains by the tilt response alone, levels left open; from two settings on
  std::optional<CalibrationPoint> electronics;  ///< taken out, its doubt in the accounts
  Sense sense = Sense::kAsLogged;
  bool polarity_turned = false;            ///< within, to give an undecided sense the log's own sign
  double slope_u = 0;                      ///< of each channel's crosstalk per tilt, as stated: in the accounts
  bool sizes_only = false;                 ///< a meter's readings: no phases
  std::vector<StepWiring> wiring_outside;  ///< of recordings that are not fitted; `row` is the session's step
  std::vector<std::size_t> swapped_steps;  ///< of the session: channels put in their places in these recordings alone
  bool single_unit_step = false;           ///< one tilt in user units: answers are moves from that step
  Warnings warnings;
  /// Whether this recording of the session alone has its channels swapped.
  [[nodiscard]] bool swapped(std::size_t step) const {
    return std::find(swapped_steps.begin(), swapped_steps.end(), step) != swapped_steps.end();
  }
};

/// Takes out the electronics, then puts the channels where the cartridge has them.
void put_in_places(Observation& observation, const std::optional<CalibrationPoint>& electronics, const WiringEvidence& evidence);

/// The account with the gauge as stated and nobody wrong, by whichever fit the observations allow. `near`: the session's fit, to start
/// from.
TiltAccount account_as_stated(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge,
                              const JointFit& near);

/// Throws: Error(kData) where no step can be used.
JointFit fit_jointly(const Session& session, const SolveOptions& options);

}  // namespace evenwall::internal::solve
