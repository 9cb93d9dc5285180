// SPDX-License-Identifier: GPL-3.0-or-later
#include "support/least_squares.hpp"

#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;

TEST_CASE("Over random problems, least squares agrees with the solution of the normal equations") {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    rig::Draw draw(seed);
    const Eigen::MatrixXd a = Eigen::MatrixXd::NullaryExpr(12, 4, [&] { return draw.normal(); });
    const Eigen::VectorXd b = Eigen::VectorXd::NullaryExpr(12, [&] { return draw.normal(); });
    const dense::LeastSquaresFit fit = dense::least_squares(a, b);
    const Eigen::MatrixXd inverse = (a.transpose() * a).inverse();
    const Eigen::VectorXd x = inverse * (a.transpose() * b);
    INFO("seed " << seed);
    // Condition numbers of such matrices stay below 100. Their squares cost the normal equations 4 of 16 digits.
    CHECK((fit.coefficients - x).norm() < 1e-11 * x.norm());
    CHECK((fit.covariance - inverse).norm() < 1e-11 * inverse.norm());
    CHECK_THAT(fit.sum_of_squares, WithinRel((b - a * x).squaredNorm(), 1e-11));
  }
}

TEST_CASE("The units of the columns do not affect the fit") {
  rig::Draw draw(1);
  const Eigen::MatrixXd a = Eigen::MatrixXd::NullaryExpr(9, 3, [&] { return draw.normal(); });
  const Eigen::VectorXd b = Eigen::VectorXd::NullaryExpr(9, [&] { return draw.normal(); });
  const Eigen::Vector3d unit(1e-9, 1, 1e9);
  const dense::LeastSquaresFit one = dense::least_squares(a, b);
  const dense::LeastSquaresFit other = dense::least_squares(a * unit.asDiagonal(), b);
  for (int k = 0; k < 3; ++k) {
    CHECK_THAT(other.coefficients[k] * unit[k], WithinRel(one.coefficients[k], 1e-13));  // equilibration leaves rounding only
    CHECK_THAT(other.covariance(k, k) * unit[k] * unit[k], WithinRel(one.covariance(k, k), 1e-12));
  }
}

TEST_CASE("One column of ones gives the mean and its variance") {
  const dense::LeastSquaresFit fit = dense::least_squares(Eigen::MatrixXd::Ones(3, 1), Eigen::Vector3d(1, 2, 6));
  CHECK_THAT(fit.coefficients[0], WithinAbs(3, 1e-14));
  CHECK_THAT(fit.covariance(0, 0), WithinAbs(1.0 / 3, 1e-15));
  CHECK_THAT(fit.sum_of_squares, WithinAbs(14, 1e-13));  // 4 + 1 + 9
}

TEST_CASE("With nearly collinear columns and large residuals, the coefficients keep their digits") {
  // The line lies far from its origin. The residuals are third differences, which are orthogonal to it, so that 3 and 2 stay exact.
  Eigen::MatrixXd a(8, 2);
  Eigen::VectorXd b(8);
  const double residual[] = {1000, -3000, 3000, -1000, 0, 0, 0, 0};
  for (int i = 0; i < 8; ++i) {
    a.row(i) << 1, 1e7 + i;
    b[i] = 3 + 2 * (1e7 + i) + residual[i];
  }
  const dense::LeastSquaresFit fit = dense::least_squares(a, b);
  // The condition number is 4e6. With refinement the error is 4e6 roundings of 1e-16. Without refinement it is the square of the condition
  // number times the residuals' rounding: whole units of the slope.
  CHECK_THAT(fit.coefficients[1], WithinAbs(2, 1e-8));
  CHECK_THAT(fit.coefficients[0], WithinAbs(3, 0.1));
}
