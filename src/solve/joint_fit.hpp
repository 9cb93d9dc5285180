// SPDX-License-Identifier: GPL-3.0-or-later
// Fits one session: determines wiring and sense, then fits the signal and the log together.
#pragma once

#include <algorithm>
#include <vector>

#include "evenwall/model.hpp"
#include "solve/observations.hpp"
#include "solve/step_wiring.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

struct JointFit {
  Observations observations;  ///< with swapped channels corrected
  WiringEvidence wiring;
  GainPriors gains;
  GaugePriors gauge;
  SignalFit signal;
  TiltFit tilt;
  std::optional<SignalFit> by_response;         ///< gains by the tilt response alone, cut levels free; from two settings on
  std::optional<CalibrationPoint> electronics;  ///< subtracted; its uncertainty is in the accounts
  Sense sense = Sense::kAsLogged;
  bool polarity_turned = false;             ///< inside the fit only, so that an undecided sense has the log's own sign
  double slope_u = 0;                       ///< stated, of each channel's crosstalk per tilt; included in the accounts
  bool sizes_only = false;                  ///< a meter's readings, without phases
  std::vector<StepWiring> wiring_outside;   ///< of recordings that are not fitted; `row` is the index of the session's step
  std::vector<std::size_t> swapped_steps;   ///< of the session: only these recordings had swapped channels; corrected
  std::vector<std::size_t> reversed_steps;  ///< of the session: only these recordings had one channel reversed; corrected
  bool single_unit_step = false;            ///< one tilt only, in user units: answers are moves from that step
  Warnings warnings;
  /// Whether the channels of this recording, but not of the whole session, were swapped.
  [[nodiscard]] bool swapped(std::size_t step) const {
    return std::find(swapped_steps.begin(), swapped_steps.end(), step) != swapped_steps.end();
  }
};

/// Subtracts the electronics' crosstalk, then puts swapped channels back in their places on the cartridge.
void put_in_places(Observation& observation, const std::optional<CalibrationPoint>& electronics, const WiringEvidence& evidence);

/// The account with the gauge as stated and no step logged wrong, by the fit of magnitudes if any step has no phases, otherwise by the fit
/// with phases. `near`: the session's fit, used as the starting point.
TiltAccount account_as_stated(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge,
                              const JointFit& near);

/// Throws: Error(kData) if no step can be used.
JointFit fit_jointly(const Session& session, const SolveOptions& options);

}  // namespace evenwall::internal::solve
