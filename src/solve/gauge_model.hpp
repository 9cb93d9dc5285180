// SPDX-License-Identifier: GPL-3.0-or-later
// Fits the steps' tilts to the log by linear least squares, for one account of the gauge.
#pragma once

#include <optional>
#include <vector>

#include "numeric/matrix.hpp"
#include "numeric/sequence_noise.hpp"
#include "numeric/triangular_fit.hpp"
#include "solve/gauge_line.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// Result of the linear fit ψ_i = k·l_i − φ0 + ε_i.
struct GaugeFit {
  Eigen::Vector2d theta;       ///< φ0 (radians), k
  Eigen::Matrix2d covariance;  ///< of theta
  Eigen::VectorXd causes;      ///< shared causes of the signal's tilts, given the log, in units of their standard deviations
  Eigen::MatrixXd joint;       ///< covariance of (theta, causes)
  double misfit = 0;           ///< Q: sum of squares of the residuals, priors included
  double log_evidence = 0;
  std::optional<ScalePrior> prior;  ///< of k
};

/// Standard deviations of the errors ε_i that separate the true tilts from the log, radians.
struct GaugeErrors {
  Eigen::VectorXd setting;     ///< per observation: of its setting. Captures of one setting share the error; the largest value counts
  Eigen::VectorXd lowering;    ///< per observation: of lowering the stylus, in addition to the setting
  double walk = 0;             ///< of a move of median magnitude; the errors of the moves add up
  double backlash = 0;         ///< of the difference between settings reached from below and from above
  double first_direction = 0;  ///< how the first setting was reached, if the log does not state it: −½ from above, ½ from below
  double drift = 0;            ///< of the change from the first capture to the last
};

/// One or two settings, and for each a variance that is added to its own.
struct Widened {
  std::vector<Eigen::Index> settings;
  Eigen::VectorXd by;  ///< radians²; may be negative
};

/// The fit for one set of errors, and how it changes if some settings' errors are larger. Requires: the line outlives it.
///
/// Rows are whitened in the order of capture (numeric::SequenceNoise). Backlash and drift are unknowns with the prior N(0, 1), as are the
/// causes. With Z the columns of ones at the widened settings, E their variances, M the inverse covariance of the rows with the line's
/// unknowns free, and e the residuals of the rows, the widened fit is a correction of as many dimensions as there are settings:
///
///     S = ZᵀMZ    b = ZᵀMe    Q → Q − bᵀE(I + SE)⁻¹b    ln|V| → ln|V| + ln|I + SE|
class GaugeSystem {
 public:
  /// The system has no prior of k yet.
  GaugeSystem(const GaugeLine& line, const GaugeErrors& errors);
  [[nodiscard]] GaugeSystem with(const std::optional<ScalePrior>& prior) const;

  [[nodiscard]] double misfit() const { return triangle_.sum_of_squares(); }
  [[nodiscard]] double log_evidence() const;
  [[nodiscard]] GaugeFit fit() const;

  /// Computes the share of every setting in the fit. Must be called before the next two functions.
  void weigh_settings();
  /// Computed from the settings' shares in the fit instead of by a new fit, unless these shares are so large that rounding would spoil the
  /// result.
  [[nodiscard]] double log_evidence_with(const Widened& widened) const;
  [[nodiscard]] GaugeFit fit_with(const Widened& widened) const;

 private:
  struct Change;
  /// The whitened column of ones of one setting: a section of `marks_`.
  struct Mark {
    Eigen::Index first, length, at;
    double square = 0;  ///< of its length
    double share = 0;   ///< diagonal element of S
  };
  [[nodiscard]] Eigen::Map<const Eigen::VectorXd> values(const Mark& mark) const { return {marks_.data() + mark.at, mark.length}; }
  /// Element of S for two settings: the product of their columns, less the part that the line's unknowns can absorb.
  [[nodiscard]] double share(Eigen::Index a, Eigen::Index b) const;
  [[nodiscard]] Change change(const Widened& widened) const;
  [[nodiscard]] GaugeSystem refitted(const Widened& widened) const;
  [[nodiscard]] GaugeFit result(const Eigen::VectorXd& x, const Eigen::MatrixXd& joint, double misfit, double log_evidence) const;

  const GaugeLine* line_;
  GaugeErrors errors_;
  numeric::SequenceNoise noise_;
  std::optional<ScalePrior> prior_;
  Eigen::MatrixXd rows_;  ///< whitened design, and in the last column the right-hand side; in the order of capture
  numeric::TriangularFit triangle_;
  double log_variances_ = 0;
  double log_determinant_ = 0;
  Eigen::MatrixXd inverse_;  ///< R⁻¹
  Eigen::VectorXd x_;
  std::vector<double> marks_;
  std::vector<Mark> mark_of_;
  Eigen::MatrixXd taken_up_;  ///< product of each setting's column with the design times R⁻¹
  Eigen::VectorXd score_;     ///< product of each setting's column with the residuals
};

/// Fit with independent settings of spreads u_rad. u_scale: standard deviation of k's prior about scale_centre; without it the prior is
/// flat.
GaugeFit fit_gauge(const std::vector<Observation>& observations, const SignalFit& signal, const Eigen::VectorXd& u_rad, double scale_centre,
                   OptionalNumber u_scale);

/// Writes a fit into the account: φ0, k, the common unknowns as updated by the log, and the joint covariance of (φ0, k, common).
void join(const SignalFit& signal, const GaugeFit& fit, TiltAccount& account);

}  // namespace evenwall::internal::solve
