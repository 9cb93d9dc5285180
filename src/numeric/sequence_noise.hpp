// SPDX-License-Identifier: GPL-3.0-or-later
// Whitens the errors of consecutive captures: errors of each capture, of each setting, and of the moves between settings, which add up.
#pragma once

#include <cmath>
#include <vector>

#include "numeric/matrix.hpp"

namespace evenwall::internal::numeric {

/// Whitens columns of numbers, one number for each capture, against
///
///     e_i = a_i + b_s(i) + w_s(i)        a_i ~ N(0, own_i)   b_s ~ N(0, setting_s)   w_s = w_s−1 + N(0, walk_s)
///
/// where s(i) is the setting of capture i and captures of one setting follow each other. A Kalman filter carries the state (b, w), two
/// numbers, from capture to capture. This costs captures × columns operations; the whole matrix would take captures³.
///
/// Source: the innovations form of the likelihood, A. C. Harvey, Forecasting, Structural Time Series Models and the Kalman Filter, 1989,
/// section 3.4 (from memory). Accuracy: as the Cholesky factor of the whole matrix (tests/unit/numeric/sequence_noise_test.cpp).
class SequenceNoise {
 public:
  /// own: variance of each capture, above 0. setting_of: of each capture, ascending from 0 without a gap. setting, walk: variances of each
  /// setting. The first setting's walk is that of the move to it.
  SequenceNoise(const Eigen::VectorXd& own, const std::vector<Eigen::Index>& setting_of, const Eigen::VectorXd& setting,
                const Eigen::VectorXd& walk);

  [[nodiscard]] Eigen::Index size() const { return static_cast<Eigen::Index>(rows_.size()); }
  /// Whitens in place; rows in the order of capture.
  void whiten(Eigen::Ref<Eigen::MatrixXd> columns) const;
  /// ln of the variance of this capture's error given the captures before it; the sum over all is ln |covariance|.
  [[nodiscard]] double log_variance(Eigen::Index capture) const { return -2 * std::log(rows_[static_cast<std::size_t>(capture)].over_sd); }

  /// Whitens a column that is 1 at the captures of one setting and 0 elsewhere. The result is zero before the first of them, and also after
  /// the last of them if there is no walk. Appends the values in between to `values`; returns the capture of the first value.
  Eigen::Index whitened_mark(Eigen::Index setting, std::vector<double>& values) const;

 private:
  struct Row {
    bool new_setting;
    double over_sd;                  ///< 1/√(variance given the captures before): scales the innovation
    double setting_gain, walk_gain;  ///< share of the innovation that belongs to the setting and to the walk
  };
  std::vector<Row> rows_;
  std::vector<Eigen::Index> first_;  ///< first capture of each setting, then the number of captures
};

}  // namespace evenwall::internal::numeric
