// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the mixed model by the slow, direct method: it inverts the whole covariance matrix.
#pragma once

#include <Eigen/Dense>
#include <cmath>
#include <random>

#include "numeric/mixed_model.hpp"

/// All quantities of the model at given variances of both factors (first, second) relative to the residual variance.
struct DenseMixedModel {
  Eigen::MatrixXd x, first, second, v, vi, p;
  Eigen::VectorXd y, beta;
  Eigen::MatrixXd beta_covariance;
  double ratio_first, ratio_second, residual_variance, criterion;

  static Eigen::MatrixXd indicators(const std::vector<int>& level, int levels, std::size_t n) {
    Eigen::MatrixXd z = Eigen::MatrixXd::Zero(static_cast<Eigen::Index>(n), level.empty() ? 0 : levels);
    for (std::size_t k = 0; k < level.size(); ++k) z(static_cast<Eigen::Index>(k), level[k]) = 1;
    return z;
  }

  DenseMixedModel(const evenwall::internal::numeric::CrossedData& d, double by_first, double by_second)
      : first(indicators(d.first, d.first_levels, d.y.size())),
        second(indicators(d.second, d.second_levels, d.y.size())),
        ratio_first(by_first),
        ratio_second(by_second) {
    const auto n = static_cast<Eigen::Index>(d.y.size());
    y = Eigen::Map<const Eigen::VectorXd>(d.y.data(), n);
    x = Eigen::MatrixXd::Ones(n, d.covariate.empty() ? 1 : 2);
    if (!d.covariate.empty()) x.col(1) = Eigen::Map<const Eigen::VectorXd>(d.covariate.data(), n);
    v = Eigen::MatrixXd::Identity(n, n) + by_first * first * first.transpose() + by_second * second * second.transpose();
    vi = v.inverse();
    beta_covariance = (x.transpose() * vi * x).inverse();
    p = vi - vi * x * beta_covariance * x.transpose() * vi;
    beta = beta_covariance * x.transpose() * vi * y;
    const auto degrees = static_cast<double>(n - x.cols());
    residual_variance = y.dot(p * y) / degrees;
    criterion = degrees * std::log(residual_variance) + 2 * Eigen::MatrixXd(v.llt().matrixL()).diagonal().array().log().sum() -
                std::log(beta_covariance.determinant());
  }

  /// Prediction of c'beta + r'a + s'b, and its mean square error divided by the residual variance.
  std::pair<double, double> predicted(const Eigen::VectorXd& c, const Eigen::VectorXd& r, const Eigen::VectorXd& s) const {
    const Eigen::VectorXd with_y = ratio_first * first * r + ratio_second * second * s;  // covariance with y
    const double own = ratio_first * r.squaredNorm() + ratio_second * s.squaredNorm();
    const Eigen::VectorXd left = c - x.transpose() * vi * with_y;
    return {c.dot(beta) + with_y.dot(vi * (y - x * beta)), own - with_y.dot(vi * with_y) + left.dot(beta_covariance * left)};
  }
};

/// Random tables with empty cells and replicates. Every level is used, and either factor may have more levels than the other.
inline evenwall::internal::numeric::CrossedData random_crossed(std::mt19937_64& random, bool covariate) {
  std::normal_distribution<double> normal;
  std::uniform_int_distribution<int> size(2, 9), repeats(0, 2);
  evenwall::internal::numeric::CrossedData d;
  d.first_levels = size(random);
  d.second_levels = size(random);
  std::vector<double> a, b;
  for (int i = 0; i < d.first_levels; ++i) a.push_back(normal(random));
  for (int j = 0; j < d.second_levels; ++j) b.push_back(0.5 * normal(random));
  for (int i = 0; i < d.first_levels; ++i) {
    for (int j = 0; j < d.second_levels; ++j) {
      const int times = i % d.second_levels == j || j % d.first_levels == i ? 1 : repeats(random);
      for (int k = 0; k < times; ++k) {
        d.first.push_back(i), d.second.push_back(j);
        d.y.push_back(40 + a[static_cast<std::size_t>(i)] + b[static_cast<std::size_t>(j)] + 0.3 * normal(random));
        if (covariate) d.covariate.push_back(normal(random));
      }
    }
  }
  return d.y.size() < 5 ? random_crossed(random, covariate) : d;
}
