#include "solve/gauge_model.hpp"

#include <cmath>

#include "numeric/least_squares.hpp"

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
  // Whitened by the Cholesky factor, so that each row is a datum of its own; the prior of k is one more.
  const Eigen::LLT<Eigen::MatrixXd> factor(spread);
  fit.weight = factor.solve(Eigen::MatrixXd::Identity(n, n));
  Eigen::MatrixXd rows = Eigen::MatrixXd::Zero(n + 1, 2);
  Eigen::VectorXd values = Eigen::VectorXd::Zero(n + 1);
  rows.topRows(n) = factor.matrixL().solve(fit.design);
  values.head(n) = factor.matrixL().solve(signal.psi_rad);
  if (u_scale) {
    rows(n, 1) = 1.0 / *u_scale;
    values[n] = scale_centre / *u_scale;
  }
  const LeastSquaresFit line = least_squares(rows, values);
  fit.covariance = line.covariance;
  fit.theta = line.coefficients;
  fit.residual = signal.psi_rad - fit.design * fit.theta;
  fit.misfit = line.sum_of_squares;
  const double ln_spread = 2 * factor.matrixLLT().diagonal().array().log().sum();
  fit.log_evidence = -0.5 * (ln_spread - std::log(fit.covariance.determinant()) + fit.misfit);
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
