// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/harmonic_prior.hpp"

#include <cassert>
#include <cmath>

#include "numeric/linear_algebra.hpp"

namespace evenwall::internal::numeric {

Eigen::VectorXd harmonic_precision(Eigen::Index columns, const HarmonicPrior& prior) {
  assert(columns % 2 == 1 && prior.size > 0);
  Eigen::VectorXd precision = Eigen::VectorXd::Zero(columns);
  for (Eigen::Index c = 1; c < columns; ++c) {
    const Eigen::Index harmonic = (c + 1) / 2;
    const double sd = prior.size / std::pow(static_cast<double>(harmonic), prior.fall);
    precision[c] = 1.0 / (sd * sd);
  }
  return precision;
}

HarmonicAnswer harmonic_answer(const Eigen::MatrixXd& information, const Eigen::VectorXd& pull, const HarmonicPrior& prior) {
  const Eigen::VectorXd precision = harmonic_precision(information.cols(), prior);
  Eigen::MatrixXd posterior = information;
  posterior.diagonal() += precision;
  const PositiveFactor factor(posterior);
  HarmonicAnswer answer;
  answer.coefficients = factor.solve(pull);
  const Eigen::VectorXd influence = factor.solve(Eigen::VectorXd::Unit(information.cols(), 0));
  answer.noise_variance = quadratic_form(information, influence);
  answer.prior_variance = dot(influence, precision.cwiseProduct(influence));
  double log_determinant = 0;  // that of the posterior's precision minus that of the prior's
  for (Eigen::Index c = 0; c < information.cols(); ++c) {
    log_determinant += 2 * std::log(factor.diagonal(c));
    if (c > 0) log_determinant -= std::log(precision[c]);
  }
  answer.log_evidence = 0.5 * (dot(pull, answer.coefficients) - log_determinant);
  return answer;
}

Eigen::MatrixXd harmonic_covariance(const Eigen::MatrixXd& information, const HarmonicPrior& prior) {
  Eigen::MatrixXd posterior = information;
  posterior.diagonal() += harmonic_precision(information.cols(), prior);
  return PositiveFactor(posterior).inverse();
}

}  // namespace evenwall::internal::numeric
