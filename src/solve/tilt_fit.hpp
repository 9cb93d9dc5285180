// SPDX-License-Identifier: GPL-3.0-or-later
// Joins the log to the signal: finds where least crosstalk lies on the gauge, for each account of the gauge's errors.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "numeric/matrix.hpp"
#include "solve/method_constants.hpp"
#include "solve/signal_fit.hpp"

namespace evenwall::internal::solve {

/// A case of how the crosstalk changes with the tilt, compared with geometry: by 1 + s (signal_scale.hpp).
struct SignalScale {
  double probability, s, u;
};

/// A normal prior of κ = k(1 + s), the scale that the signal shows.
struct ScalePrior {
  double centre, u;
  /// The case of s that the prior contains, and the gauge's part: that of k.
  struct Case {
    std::size_t index;
    double k_centre, k_u;
  };
  std::optional<Case> of_case{};  ///< absent: the prior is that of k alone
};

/// Prior knowledge of the gauge.
struct GaugePriors {
  bool in_degrees = true;   ///< else user units, whose size in degrees the signal determines
  OptionalNumber u_deg;     ///< standard uncertainty of each setting; if empty, it is estimated from the scatter
  double scale_centre = 1;  ///< degrees per logged degree: ±1 by the log's sense
  double u_scale = 0.02;
  OptionalNumber lowering_rad{};             ///< repeatability of lowering, if a fit has found it already
  bool scale_stated = false;                 ///< else a gauge that turns about another axis than the groove's is considered, too
  double u_zero_deg = 0;                     ///< standard uncertainty of the gauge's zero
  double u_record_deg = 0;                   ///< standard uncertainty of the record's cutting-azimuth error
  std::vector<SignalScale> signal_scales{};  ///< prior of the signal's scale; empty: exactly 1
};

/// How the errors of the settings are related.
enum class GaugeStructure {
  kIndependent,      ///< each setting has an error of its own
  kWalk,             ///< errors add up from move to move: counted turns, stacked shims
  kWalkAndSettings,  ///< both, with half of the variance each
  kBacklash,         ///< independent, plus a difference between settings reached from below and from above
  kDrift             ///< independent, plus a change with time
};
inline constexpr std::size_t kGaugeStructures = 5;

/// One account of the session: how the settings' errors are related, how large they are, and which steps are logged wrong.
struct TiltAccount {
  double probability = 0;
  GaugeStructure structure = GaugeStructure::kIndependent;
  std::vector<std::size_t> wrong;                       ///< observations logged wrong
  std::optional<std::array<std::size_t, 2>> exchanged;  ///< observations of which each has the other's logged tilt
  double least_rad = 0;                                 ///< φ0: true tilt at least crosstalk
  double scale = 1;                                     ///< k: true degrees per logged unit
  Eigen::VectorXd common;                               ///< common unknowns, given the log
  Eigen::MatrixXd covariance;                           ///< of (φ0, k, common)
  Eigen::MatrixXd known_covariance;       ///< part of `covariance` due to terms whose magnitude is stated, not estimated from the steps
  Eigen::MatrixXd signal_covariance;      ///< of `common` by the signal alone
  double degrees_of_freedom = 0;          ///< 0: normal
  double gauge_u_rad = 0;                 ///< standard uncertainty of a setting
  std::optional<ScalePrior> scale_prior;  ///< if the log is in degrees
  bool scale_prior_used = false;          ///< in the fit; else k is that of the steps alone
  std::size_t signal_case = 0;            ///< index in GaugePriors::signal_scales
  double signal_scale = 1;     ///< 1 + s: signal's angle over true angle; `least_rad`, `scale` and `covariance` are in true degrees
  double u_signal_scale = 0;   ///< included in `covariance`
  double slope_shift_rad = 0;  ///< standard uncertainty σδ (slope_doubt.hpp); `covariance` contains it twice, as for least crosstalk
  [[nodiscard]] ResponseShape shape() const { return shape_of(common); }
  /// Angle of the response from its least crosstalk, for a true tilt, and the reverse.
  [[nodiscard]] double psi_rad(double tilt_rad) const { return signal_scale * (tilt_rad - least_rad); }
  [[nodiscard]] double tilt_rad(double psi_rad) const { return least_rad + psi_rad / signal_scale; }
};

enum class GaugeKnowledge { kStated, kEstimated, kAssumed, kUnderstated };

struct TiltFit {
  std::vector<TiltAccount> accounts;  ///< probabilities add up to 1
  GaugeKnowledge gauge = GaugeKnowledge::kStated;
  std::size_t settings = 0;         ///< repeats of one setting count once
  double lowering_rad = 0;          ///< likeliest repeatability of lowering
  double stated_p_value = 1;        ///< of the settings' scatter about the stated gauge, with no setting wrong
  double free_scale = 1;            ///< k without a prior, with no setting wrong
  double u_free_scale = 0;          ///< 0 if the steps cannot show it
  double u_zero_rad = 0;            ///< standard uncertainty of the gauge's zero, included in the accounts' covariances
  double log_odds_against_log = 0;  ///< evidence that the response runs against the log, natural logarithm
  [[nodiscard]] const TiltAccount& likeliest() const;
  /// Sum over all accounts of this structure.
  [[nodiscard]] double probability_of(GaugeStructure structure) const;
  /// The two observations whose tilts are most likely exchanged, and the probability of that.
  struct Exchange {
    std::array<std::size_t, 2> observations;
    double probability;
  };
  [[nodiscard]] std::optional<Exchange> exchange() const;
  struct Scale {
    double scale, u;
  };
  /// True degrees per logged unit, by the signal: without a prior, or, if a setting is named as wrong, by the likeliest account. A wrong
  /// row would turn the line.
  [[nodiscard]] Scale scale_by_signal() const;
  /// Probability that this observation is logged wrong.
  [[nodiscard]] double probability_wrong(std::size_t observation) const;
  /// The same for each observation.
  [[nodiscard]] std::vector<double> probabilities_wrong(std::size_t observations) const;
};

/// Throws: Error(kData). For logged tilts so small, or crosstalk so extreme, that their squares leave the range of a double and the fit has
/// no finite result.
[[noreturn]] void throw_no_numbers();

/// The account with the gauge as stated and no step logged wrong; nothing is tested. For shares and forecasts of the uncertainty.
TiltAccount fit_as_stated(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& priors);

/// Requires: observations as given to fit_signal.
/// Source: docs/method.md, "The fit of the log".
TiltFit fit_tilt(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& priors);

}  // namespace evenwall::internal::solve
