// SPDX-License-Identifier: GPL-3.0-or-later
// Linear least squares of the steps' tilts on the log, for one account of the gauge.
#pragma once

#include <optional>

#include "numeric/matrix.hpp"
#include "numeric/triangular_fit.hpp"
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

/// The steps' tilts by the signal beside the log's, whatever the gauge's spread. The tilts are a diagonal of variances and a few shared
/// causes (SharedCovariance): with the causes among the unknowns every step is a datum of its own.
class GaugeLine {
 public:
  /// Requires: observations as given to fit_signal.
  GaugeLine(const std::vector<Observation>& observations, const SignalFit& signal);
  [[nodiscard]] Eigen::Index size() const { return rest_.size(); }

 private:
  friend class GaugeSystem;
  void straighten();

  Eigen::MatrixXd design_;  ///< by φ0, k and each cause that tells something
  Eigen::VectorXd rest_;    ///< tilts less the straight line below
  Eigen::Vector2d line_;    ///< φ0, k of unweighted least squares: only what is left of it is fitted
  Eigen::VectorXd own_;     ///< variance of each tilt beside the causes
  std::vector<Eigen::Index> told_causes_;
  Eigen::Index causes_ = 0;
};

/// The fit for one spread of each setting, and what becomes of it where one of them is another. Requires: the line outlives it.
class GaugeSystem {
 public:
  /// u_rad: per observation, the spread of its setting. No prior of k yet.
  GaugeSystem(const GaugeLine& line, const Eigen::VectorXd& u_rad);
  [[nodiscard]] GaugeSystem with(const std::optional<ScalePrior>& prior) const;

  [[nodiscard]] double misfit() const { return triangle_.sum_of_squares(); }
  [[nodiscard]] double log_evidence() const;
  [[nodiscard]] GaugeFit fit() const;

  /// Weighs every step: the next two need it.
  void weigh_steps();
  /// With another spread of setting j: by the row's share in the fit instead of a fit of its own, unless the row is so much of the fit that
  /// nothing would be left of the digits.
  [[nodiscard]] double log_evidence_with(Eigen::Index j, double u_rad) const;
  [[nodiscard]] GaugeFit fit_with(Eigen::Index j, double u_rad) const;

 private:
  struct Change;
  [[nodiscard]] Change change(Eigen::Index j, double u_rad) const;
  [[nodiscard]] GaugeSystem refitted(Eigen::Index j, double u_rad) const;
  [[nodiscard]] GaugeFit result(const Eigen::VectorXd& x, const Eigen::MatrixXd& joint, double misfit, double log_evidence) const;
  [[nodiscard]] Eigen::MatrixXd whitened() const;

  const GaugeLine* line_;
  Eigen::VectorXd u_rad_, variance_;
  double log_variances_ = 0;
  std::optional<ScalePrior> prior_;
  numeric::TriangularFit triangle_;
  Eigen::MatrixXd turned_;  ///< whitened design × R⁻¹
  Eigen::VectorXd share_;   ///< its rows' squares: how much of its own fit each step is
  double log_determinant_ = 0;
  Eigen::VectorXd residual_;  ///< whitened
  Eigen::MatrixXd inverse_;   ///< R⁻¹
  Eigen::VectorXd x_;
};

/// u_scale: prior of k about its centre; none: flat.
GaugeFit fit_gauge(const std::vector<Observation>& observations, const SignalFit& signal, const Eigen::VectorXd& u_rad, double scale_centre,
                   OptionalNumber u_scale);

/// Carries the log's news to the common unknowns: their values and the joint covariance of (φ0, k, common).
void join(const SignalFit& signal, const GaugeFit& fit, TiltAccount& account);

}  // namespace evenwall::internal::solve
