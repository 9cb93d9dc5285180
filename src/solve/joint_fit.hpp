// SPDX-License-Identifier: GPL-3.0-or-later
// Fits one session: determines wiring and sense, then fits the signal and the log together.
#pragma once

#include <algorithm>
#include <vector>

#include "evenwall/model.hpp"
#include "solve/electronics.hpp"
#include "solve/observations.hpp"
#include "solve/step_wiring.hpp"
#include "solve/tilt_fit.hpp"
#include "solve/wiring_votes.hpp"

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
  OffsetDoubt third_octave;                     ///< of a sweep or noise (third_octave_doubt.hpp); included in the accounts
  Sense sense = Sense::kAsLogged;
  bool polarity_turned = false;             ///< inside the fit only, so that an undecided sense has the log's own sign
  double u_turn_scale = 0;                  ///< of the signal's scale, in a turn by the crosstalk alone (signal_scale.hpp)
  double slope_u = 0;                       ///< stated, of each channel's crosstalk per tilt; included in the accounts
  bool sizes_only = false;                  ///< a meter's readings, without phases
  std::vector<StepWiring> wiring_outside;   ///< of recordings that are not fitted; `row` is the index of the session's step
  std::vector<std::size_t> swapped_steps;   ///< of the session: only these recordings had swapped channels; corrected
  std::vector<std::size_t> reversed_steps;  ///< of the session: only these recordings had one channel reversed; corrected
  /// No step has a logged tilt: the row of the last fitted recording, from which all tilts count. The sense is then that of the turn.
  std::optional<std::size_t> counts_from{};
  bool single_unit_step = false;  ///< one tilt only, in user units: answers are moves from that step
  Warnings warnings;
  /// Whether the channels of this recording, but not of the whole session, were swapped.
  [[nodiscard]] bool swapped(std::size_t step) const {
    return std::find(swapped_steps.begin(), swapped_steps.end(), step) != swapped_steps.end();
  }
};

/// The account with the gauge as stated and no step logged wrong, by the fit of magnitudes if any step has no phases, otherwise by the fit
/// with phases. `near`: the session's fit, used as the starting point.
TiltAccount account_as_stated(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge,
                              const JointFit& near);

/// The same for a fit of the signal that is given. Requires: observations as given to that fit.
TiltAccount account_of_signal(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& gauge,
                              const JointFit& near);

/// Tilt of each fitted row from the zero of the answer, degrees: as the fitted log shows it, or by the signal if it has no logged tilt.
std::vector<double> fitted_tilts_deg(const JointFit& joint);

/// Throws: Error(kData) if no step can be used.
JointFit fit_jointly(const Session& session, const SolveOptions& options);

}  // namespace evenwall::internal::solve
