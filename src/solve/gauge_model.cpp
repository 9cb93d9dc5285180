#include "solve/gauge_model.hpp"

#include <cmath>

namespace evenwall {

GaugeFit fit_gauge(const std::vector<Observation>& observations, const SignalFit& signal, const Eigen::VectorXd& u_rad, double scale_centre,
                   OptionalNumber u_scale) {
  const auto n = static_cast<Eigen::Index>(observations.size());
  GaugeFit fit;
  fit.design.resize(n, 2);
  for (Eigen::Index i = 0; i < n; ++i) {
    fit.design(i, 0) = -1;
    fit.design(i, 1) = radians(observations[static_cast<std::size_t>(i)].logged);
  }
  Eigen::MatrixXd spread = signal.covariance.topLeftCorner(n, n);
  spread.diagonal() += u_rad.cwiseAbs2();
  const Eigen::LDLT<Eigen::MatrixXd> factor(spread);
  fit.weight = factor.solve(Eigen::MatrixXd::Identity(n, n));
  const double prior_weight = u_scale ? 1.0 / (*u_scale * *u_scale) : 0.0;
  Eigen::Matrix2d information = fit.design.transpose() * fit.weight * fit.design;
  Eigen::Vector2d pull = fit.design.transpose() * fit.weight * signal.psi_rad;
  information(1, 1) += prior_weight;
  pull[1] += prior_weight * scale_centre;
  fit.covariance = information.inverse();
  fit.theta = fit.covariance * pull;
  fit.residual = signal.psi_rad - fit.design * fit.theta;
  const double off = fit.theta[1] - scale_centre;
  fit.misfit = fit.residual.dot(fit.weight * fit.residual) + prior_weight * off * off;
  fit.log_evidence = -0.5 * (factor.vectorD().array().log().sum() + std::log(information.determinant()) + fit.misfit);
  return fit;
}

void join(const SignalFit& signal, const GaugeFit& fit, TiltAccount& account) {
  const Eigen::Index n = signal.psi_rad.size();
  const Eigen::MatrixXd cross = signal.covariance.block(n, 0, kCommonSize, n);
  const Eigen::MatrixXd own = signal.covariance.bottomRightCorner(kCommonSize, kCommonSize);
  const Eigen::MatrixXd gain = cross * fit.weight;
  const Eigen::MatrixXd carried = gain * fit.design;
  account.least_rad = fit.theta[0];
  account.scale = fit.theta[1];
  account.common = signal.common - gain * fit.residual;
  account.covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  account.covariance.topLeftCorner(2, 2) = fit.covariance;
  account.covariance.block(2, 0, kCommonSize, 2) = carried * fit.covariance;
  account.covariance.block(0, 2, 2, kCommonSize) = (carried * fit.covariance).transpose();
  account.covariance.bottomRightCorner(kCommonSize, kCommonSize) =
      own - gain * cross.transpose() + carried * fit.covariance * carried.transpose();
  account.known_covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  account.signal_covariance = own;
}

}  // namespace evenwall
