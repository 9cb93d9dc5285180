// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/shared_covariance.hpp"

#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

TEST_CASE("A shared covariance equals the matrix that it represents") {
  rig::Draw draw(1);
  const Eigen::VectorXd own = Eigen::VectorXd::NullaryExpr(7, [&] { return draw.uniform(0, 1); });
  const Eigen::MatrixXd root = Eigen::MatrixXd::NullaryExpr(7, 3, [&] { return draw.normal(); });
  const SharedCovariance shared(own, root);
  const Eigen::MatrixXd dense = root * root.transpose() + Eigen::MatrixXd(own.asDiagonal());
  REQUIRE(shared.rows() == 7);
  for (Eigen::Index i = 0; i < 7; ++i) {
    for (Eigen::Index k = 0; k < 7; ++k) CHECK_THAT(shared(i, k), WithinAbs(dense(i, k), 1e-14));
  }
  // The limit 1e-14 is the rounding of sums of three products of order one.
  CHECK((shared.variances() - dense.diagonal()).norm() < 1e-14);
  CHECK((shared.block(2, 1, 4, 5) - dense.block(2, 1, 4, 5)).norm() < 1e-14);
  CHECK((shared.top_left_corner(3, 7) - dense.topLeftCorner(3, 7)).norm() < 1e-14);
  CHECK((shared.bottom_right_corner(2) - dense.bottomRightCorner(2, 2)).norm() < 1e-14);
}

TEST_CASE("A singular covariance can be represented, and a matrix of zeros has a root without columns") {
  rig::Draw draw(2);
  const Eigen::MatrixXd root = Eigen::MatrixXd::NullaryExpr(9, 4, [&] { return draw.normal(); });
  const SharedCovariance shared = root * root.transpose();
  CHECK((shared.top_left_corner(9, 9) - root * root.transpose()).norm() < 1e-7);  // the root of a rounding error: √1e-15
  const SharedCovariance nothing = Eigen::MatrixXd::Zero(5, 5);
  CHECK(nothing.rows() == 5);
  CHECK(nothing.root().cols() == 0);
  CHECK(nothing(3, 3) == 0);
}
