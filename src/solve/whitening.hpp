// SPDX-License-Identifier: GPL-3.0-or-later
// Turns a complex residual into two independent data of variance 1.
#pragma once

#include <cmath>

#include "numeric/matrix.hpp"

namespace evenwall::internal::solve {

/// The inverse of a covariance's Cholesky factor, which is lower triangular.
struct Whitening {
  double re_re, im_re, im_im;
};

/// covariance: of real and imaginary part. Requires: it is positive definite.
inline Whitening whitening(const Eigen::Matrix2d& covariance) {
  const double re = std::sqrt(covariance(0, 0));
  const double im_by_re = covariance(1, 0) / re;
  const double im = std::sqrt(covariance(1, 1) - im_by_re * im_by_re);
  return {1 / re, -im_by_re / (re * im), 1 / im};
}

}  // namespace evenwall::internal::solve
