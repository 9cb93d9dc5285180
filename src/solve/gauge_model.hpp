// Linear least squares of the steps' tilts on the log, for one account of the gauge.
#pragma once

#include "numeric/matrix.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall {

/// Result of the linear fit ψ_i = k·l_i − φ0 + ε_i.
struct GaugeFit {
  Eigen::Vector2d theta;       ///< φ0 (radians), k
  Eigen::Matrix2d covariance;  ///< of theta
  Eigen::MatrixXd weight;      ///< V⁻¹
  Eigen::VectorXd residual;
  Eigen::MatrixXd design;
  double misfit = 0;  ///< Q: residuals and prior
  double log_evidence = 0;
};

/// u_rad: per observation, the spread of its setting. u_scale: prior of k about its centre; none: flat.
GaugeFit fit_gauge(const std::vector<Observation>& observations, const SignalFit& signal, const Eigen::VectorXd& u_rad, double scale_centre,
                   OptionalNumber u_scale);

/// Carries the log's news to the common unknowns: their values and the joint covariance of (φ0, k, common).
void join(const SignalFit& signal, const GaugeFit& fit, TiltAccount& account);

}  // namespace evenwall
