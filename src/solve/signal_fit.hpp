// SPDX-License-Identifier: GPL-3.0-or-later
// Fits the tilt of each step from least crosstalk, and the cartridge's response, from the signal alone.
#pragma once

#include <optional>
#include <vector>

#include "evenwall/model.hpp"
#include "numeric/matrix.hpp"
#include "numeric/shared_covariance.hpp"
#include "solve/geometry.hpp"

namespace evenwall::internal::solve {

/// One usable step. Ratios are as measured: undriven over driven channel of the same passage.
struct Observation {
  std::size_t step = 0;     ///< index into Session::steps
  double logged = 0;        ///< degrees or user units
  bool tilt_logged = true;  ///< false: the log has no tilt for this step; `logged` is then 0 and is not used
  OptionalNumber gauge_u;   ///< standard uncertainty of `logged`, same unit, if this step states its own
  double order = 0;         ///< place among the captures of the session, ascending
  int approach = 0;         ///< how the setting was reached: 1 from below, −1 from above, 0 by the order of the settings
  Complex right_into_left, left_into_right;
  bool phase_known = true;  ///< false: magnitudes only; the phases are filled in from the fit
  Eigen::Matrix2d right_into_left_covariance, left_into_right_covariance;
  double right_degrees_of_freedom = 0;  ///< of the covariance on the right-only passage
  double left_degrees_of_freedom = 0;
  OptionalNumber ln_level_ratio;  ///< left channel on left-only over right channel on right-only passages
  double u_ln_level_ratio = 0;
  OptionalNumber interchannel_phase_rad;  ///< of a both-channel passage, antiphase removed
  bool vertical = false;                  ///< that passage moves the stylus up and down
  bool leads_swapped = false;             ///< between cartridge and preamplifier; channels are in the cartridge's places
  /// Standard uncertainty of each part that the groove causes alike at every step, beside the covariances: a sweep's warp may be resonance.
  double right_into_left_groove_u = 0;
  double left_into_right_groove_u = 0;
  /// rms by which each ratio varies within its third octave, as measured. It is power that the mean of the third octave does not have.
  double right_into_left_in_third_octave = 0;
  double left_into_right_in_third_octave = 0;
  /// What a stated uncertainty of the slopes added to the covariances: v·vᵀ of each. It is common to all recordings (slope_doubt.hpp).
  Complex right_into_left_by_slope{}, left_into_right_by_slope{};
};

/// Standard deviations of the gain ratio and phase between the channels that each recording has beside the common ones. Causes are a knob
/// that was turned, an amplifier that warms up, or a delay that differs between recordings.
struct GainSpread {
  double neper = 0;
  double phase_rad = 0;
  [[nodiscard]] bool any() const { return neper > 0 || phase_rad > 0; }
};

/// Prior knowledge of the gains beside the measured ratios, radians and nepers.
struct GainPriors {
  double ln_cut_ratio = 0;  ///< left-only over right-only band as cut
  double u_ln_cut_ratio = 0;
  double phase_centre_rad = 0;  ///< 0, or π if the wiring reverses one channel
  GainSpread spread{};          ///< between recordings
};

/// Unknowns after the tilts, in the order of SignalFit::common. The gain is that of cartridge and preamplifier together, left over right
/// with the leads straight; the preamplifier's own part shows only if a step's leads were swapped.
enum CommonUnknown {
  kShear,
  kBend,
  kQuadratureLeft,
  kQuadratureRight,
  kLnGain,
  kGainPhase,
  kLnCutRatio,
  kCutPhase,
  kLnPreamplifier,
  kPreamplifierPhase,
  kCommonSize
};

/// The shape among the common unknowns.
inline ResponseShape shape_of(const Eigen::VectorXd& common) {
  return {common[kShear], common[kBend], common[kQuadratureLeft], common[kQuadratureRight]};
}

struct SignalFit {
  Eigen::VectorXd psi_rad;               ///< per observation: tilt from least crosstalk
  Eigen::VectorXd common;                ///< kCommonSize
  numeric::SharedCovariance covariance;  ///< of (psi, common)
  double chi2 = 0;
  double degrees_of_freedom = 0;
  Eigen::VectorXcd own_ln_gain{};  ///< of each recording beside the common one; empty if all have the same
  double log_evidence = 0;  ///< of the data, priors included, up to a constant that is the same for all spreads of the gains (Laplace)
  [[nodiscard]] ResponseShape shape() const { return shape_of(common); }
  /// ln of this recording's own gain, beside the common one.
  [[nodiscard]] Complex own_gain(std::size_t observation) const {
    return own_ln_gain.size() > 0 ? own_ln_gain[static_cast<Eigen::Index>(observation)] : Complex(0, 0);
  }
};

/// Weighted Gauss–Newton over all steps at once. Its cost grows in proportion to the number of steps. `near`: a similar fit of as many
/// steps, to start from. Requires: observations not empty, covariances positive definite. Accuracy: no bias for any complex generator,
/// gains, electronics and cut (tests/unit/solve/signal_fit_test.cpp). Source: docs/method.md, "The fit of the crosstalk".
SignalFit fit_signal(const std::vector<Observation>& observations, const GainPriors& priors, const SignalFit* near = nullptr);

/// Natural logarithm of the complex gain ratio, left over right, that a step's ratios contain.
Complex ln_gain_of(const Eigen::VectorXd& common, bool leads_swapped);

/// Ratios for given unknowns, as fit_signal models them, with the leads straight.
struct PredictedRatios {
  Complex right_into_left, left_into_right;
};
PredictedRatios predicted_ratios(double psi_rad, const Eigen::VectorXd& common);

}  // namespace evenwall::internal::solve
