// SPDX-License-Identifier: GPL-3.0-or-later
// The log joined to the signal: where least crosstalk lies on the gauge, under each account of what the gauge may have done.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "numeric/matrix.hpp"
#include "solve/method_constants.hpp"
#include "solve/signal_fit.hpp"

namespace evenwall::internal::solve {

/// What is known of the gauge.
struct GaugePriors {
  bool in_degrees = true;   ///< else user units, whose size the signal tells
  OptionalNumber u_deg;     ///< standard uncertainty of each setting; none: estimated from the scatter
  double scale_centre = 1;  ///< degrees per logged degree: ±1 by the log's sense
  double u_scale = 0.02;
  OptionalNumber lowering_rad{};  ///< of captures beside their setting, if a fit has found it already
  bool scale_stated = false;      ///< else a gauge that turns about another axis than the groove's is possible, too
  double u_zero_deg = 0;          ///< of the gauge's zero
  double u_record_deg = 0;        ///< of the record's own lean
};

/// How the errors of the settings hang together.
enum class GaugeStructure {
  kIndependent,      ///< each setting has its own
  kWalk,             ///< they add up from move to move: counted turns, stacked shims
  kWalkAndSettings,  ///< half and half
  kBacklash,         ///< independent, and a difference between settings reached from below and from above
  kDrift             ///< independent, and a change with time
};
inline constexpr std::size_t kGaugeStructures = 5;

/// One account of the session: how the settings' errors hang together, how large they are, and which steps are logged wrong.
struct TiltAccount {
  double probability = 0;
  GaugeStructure structure = GaugeStructure::kIndependent;
  std::vector<std::size_t> wrong;                       ///< observations logged wrong
  std::optional<std::array<std::size_t, 2>> exchanged;  ///< observations of which each has the other's logged tilt
  double least_rad = 0;                                 ///< φ0: true tilt at least crosstalk
  double scale = 1;                                     ///< k: true degrees per logged unit
  Eigen::VectorXd common;                               ///< common unknowns, given the log
  Eigen::MatrixXd covariance;                           ///< of (φ0, k, common)
  Eigen::MatrixXd known_covariance;   ///< what is in `covariance` of terms whose size is stated, not estimated from the steps
  Eigen::MatrixXd signal_covariance;  ///< of common by the signal alone
  double degrees_of_freedom = 0;      ///< 0: normal
  double gauge_u_rad = 0;             ///< of a setting
  [[nodiscard]] ResponseShape shape() const { return shape_of(common); }
};

enum class GaugeKnowledge { kStated, kEstimated, kAssumed, kUnderstated };

struct TiltFit {
  std::vector<TiltAccount> accounts;  ///< probabilities add up to 1
  GaugeKnowledge gauge = GaugeKnowledge::kStated;
  std::size_t settings = 0;         ///< repeats of one setting count once
  double lowering_rad = 0;          ///< how well captures of one setting come back, as the evidence has it
  double stated_p_value = 1;        ///< of the settings' scatter about the stated gauge, no setting wrong
  double free_scale = 1;            ///< k with no prior, nobody wrong
  double u_free_scale = 0;          ///< 0 where the steps can't tell
  double u_zero_rad = 0;            ///< of the gauge's zero, in the accounts' covariances
  double log_odds_against_log = 0;  ///< evidence that the response runs against the log, natural logarithm
  [[nodiscard]] const TiltAccount& likeliest() const;
  /// Of all accounts of this structure.
  [[nodiscard]] double probability_of(GaugeStructure structure) const;
  /// The two observations that are the likeliest to have each other's tilt, and how likely that is.
  struct Exchange {
    std::array<std::size_t, 2> observations;
    double probability;
  };
  [[nodiscard]] std::optional<Exchange> exchange() const;
  /// Probability that this observation is logged wrong.
  [[nodiscard]] double probability_wrong(std::size_t observation) const;
  /// The same of all.
  [[nodiscard]] std::vector<double> probabilities_wrong(std::size_t observations) const;
};

/// Throws: Error(kData). Logged tilts so small or leaks so odd that their squares leave the range of a double give no numbers: words
/// instead.
[[noreturn]] void throw_no_numbers();

/// One account: the gauge as stated, nobody wrong, nothing put to the test. For shares and forecasts of the uncertainty.
TiltAccount fit_as_stated(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& priors);

/// Requires: observations as given to fit_signal.
/// Source: docs/method.md, "The gauge's part".
TiltFit fit_tilt(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& priors);

}  // namespace evenwall::internal::solve
