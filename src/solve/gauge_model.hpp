// SPDX-License-Identifier: GPL-3.0-or-later
// Linear least squares of the steps' tilts on the log, for one account of the gauge.
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
  Eigen::VectorXd causes;      ///< what the log says of the causes that the signal's tilts share, in their standard deviations
  Eigen::MatrixXd joint;       ///< covariance of (theta, causes)
  double misfit = 0;           ///< Q: residuals and prior
  double log_evidence = 0;
};

struct ScalePrior {
  double centre, u;
};

/// Standard deviations of what separates the true tilts ε_i from the log, radians.
struct GaugeErrors {
  Eigen::VectorXd setting;     ///< per observation: of its setting. Captures of one setting share the error; the largest counts
  Eigen::VectorXd lowering;    ///< per observation: of each capture, beside the setting
  double walk = 0;             ///< of a move of the usual size; moves add up
  double backlash = 0;         ///< of the difference between settings reached from either side
  double first_direction = 0;  ///< from where the first setting was reached, if the log does not say: −½ from above, ½ from below
  double drift = 0;            ///< of the change from the first capture to the last
};

/// One setting or two, each with a variance that is added to its own.
struct Widened {
  std::vector<Eigen::Index> settings;
  Eigen::VectorXd by;  ///< radians²; may be negative
};

/// The fit for one set of errors, and how it changes if some settings' errors are larger. Requires: the line outlives it.
///
/// Rows are whitened in the order of capture (numeric::SequenceNoise), backlash and drift are unknowns of prior N(0, 1) beside the causes.
/// With Z the columns of ones at the widened settings, E their variances, M the inverse covariance of the rows with the line's unknowns
/// free, and e what is left of the rows, the widened fit is a correction of as many dimensions as there are settings:
///
///     S = ZᵀMZ    b = ZᵀMe    Q → Q − bᵀE(I + SE)⁻¹b    ln|V| → ln|V| + ln|I + SE|
class GaugeSystem {
 public:
  /// No prior of k yet.
  GaugeSystem(const GaugeLine& line, const GaugeErrors& errors);
  [[nodiscard]] GaugeSystem with(const std::optional<ScalePrior>& prior) const;

  [[nodiscard]] double misfit() const { return triangle_.sum_of_squares(); }
  [[nodiscard]] double log_evidence() const;
  [[nodiscard]] GaugeFit fit() const;

  /// Weighs every setting: the next two need it.
  void weigh_settings();
  /// By the settings' shares in the fit instead of a fit of its own, unless they are so much of the fit that nothing would be left of the
  /// digits.
  [[nodiscard]] double log_evidence_with(const Widened& widened) const;
  [[nodiscard]] GaugeFit fit_with(const Widened& widened) const;

 private:
  struct Change;
  /// One setting's whitened column of ones: a piece of `marks_`.
  struct Mark {
    Eigen::Index first, length, at;
  };
  [[nodiscard]] Eigen::Map<const Eigen::VectorXd> values(const Mark& mark) const { return {marks_.data() + mark.at, mark.length}; }
  /// What two settings' columns have in common and the line's unknowns cannot take up.
  [[nodiscard]] double share(Eigen::Index a, Eigen::Index b) const;
  [[nodiscard]] Change change(const Widened& widened) const;
  [[nodiscard]] GaugeSystem refitted(const Widened& widened) const;
  [[nodiscard]] GaugeFit result(const Eigen::VectorXd& x, const Eigen::MatrixXd& joint, double misfit, double log_evidence) const;

  const GaugeLine* line_;
  GaugeErrors errors_;
  numeric::SequenceNoise noise_;
  std::optional<ScalePrior> prior_;
  Eigen::MatrixXd rows_;  ///< whitened design, and in the last column what it should equal, in the order of capture
  numeric::TriangularFit triangle_;
  double log_variances_ = 0;
  double log_determinant_ = 0;
  Eigen::MatrixXd inverse_;  ///< R⁻¹
  Eigen::VectorXd x_;
  std::vector<double> marks_;
  std::vector<Mark> mark_of_;
  Eigen::MatrixXd taken_up_;  ///< of each setting's column, by the unknowns
  Eigen::VectorXd score_;     ///< its product with what is left of the rows
};

/// Independent settings of spreads u_rad. u_scale: prior of k about its centre; none: flat.
GaugeFit fit_gauge(const std::vector<Observation>& observations, const SignalFit& signal, const Eigen::VectorXd& u_rad, double scale_centre,
                   OptionalNumber u_scale);

/// Carries the log's news to the common unknowns: their values and the joint covariance of (φ0, k, common).
void join(const SignalFit& signal, const GaugeFit& fit, TiltAccount& account);

}  // namespace evenwall::internal::solve
