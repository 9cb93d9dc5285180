// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/whitening.hpp"

#include "support/catch.hpp"

using namespace evenwall::internal::solve;

TEST_CASE("Whitened parts have variance 1 and no covariance") {
  Eigen::Matrix2d covariance;
  covariance << 4.0, 2.4, 2.4, 9.0;
  const Whitening w = whitening(covariance);
  // W C Wᵀ for the lower triangular W, written out.
  CHECK_THAT(w.re_re * w.re_re * 4.0, WithinAbs(1, 1e-14));
  CHECK_THAT(w.re_re * (w.im_re * 4.0 + w.im_im * 2.4), WithinAbs(0, 1e-14));
  CHECK_THAT(w.im_re * w.im_re * 4.0 + 2 * w.im_re * w.im_im * 2.4 + w.im_im * w.im_im * 9.0, WithinAbs(1, 1e-14));
}
