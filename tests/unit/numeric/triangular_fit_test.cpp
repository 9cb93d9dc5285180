// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/triangular_fit.hpp"

#include "support/catch.hpp"
#include "support/least_squares.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

namespace {

/// Random slopes. The lengths of the columns range over six decades, because the fit must not depend on them.
Eigen::MatrixXd random_design(rig::Draw& draw, Eigen::Index rows, Eigen::Index columns) {
  Eigen::MatrixXd design = Eigen::MatrixXd::NullaryExpr(rows, columns, [&] { return draw.normal(); });
  for (Eigen::Index k = 0; k < columns; ++k) design.col(k) *= std::pow(10.0, draw.uniform(-3, 3));
  return design;
}

}  // namespace

TEST_CASE("Rows that are added one by one give the same fit as all rows at once") {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    INFO("seed " << seed);
    rig::Draw draw(seed);
    const auto columns = static_cast<Eigen::Index>(draw.uniform(1, 13));
    const Eigen::Index rows = columns + static_cast<Eigen::Index>(draw.uniform(0, 200));  // from less than one block to several
    const Eigen::MatrixXd design = random_design(draw, rows, columns);
    const Eigen::VectorXd values = Eigen::VectorXd::NullaryExpr(rows, [&] { return draw.normal(); });
    TriangularFit fit(columns);
    for (Eigen::Index i = 0; i < rows; ++i) {
      fit.add(&design(i, 0), values[i], design.outerStride());
      if (i == rows / 2) fit.finish();  // adding rows continues afterwards
    }
    fit.finish();
    CHECK(fit.rows() == rows);
    const dense::LeastSquaresFit dense = dense::least_squares(design, values);
    const Eigen::VectorXd u = dense.covariance.diagonal().cwiseSqrt();
    // In units of standard deviations: the rounding of 200 values of order one, 1e-16·√200, times the amplification by a nearly square
    // random design.
    CHECK((fit.coefficients() - dense.coefficients).cwiseQuotient(u).cwiseAbs().maxCoeff() < 1e-12);
    const Eigen::MatrixXd inverse = fit.inverse_root();
    CHECK((inverse * inverse.transpose() - dense.covariance).cwiseQuotient(u * u.transpose()).cwiseAbs().maxCoeff() < 1e-9);
    CHECK_THAT(fit.sum_of_squares(), WithinAbs(dense.sum_of_squares, 1e-12 * values.squaredNorm()));
    CHECK_THAT(fit.log_determinant(), WithinAbs(-std::log(dense.covariance.determinant()), 1e-8));
  }
}

TEST_CASE("A column of zeros and a row of zeros do not disturb the fit") {
  TriangularFit fit(2);
  const double rows[3][2] = {{1, 0}, {0, 0}, {1, 0}};
  for (const auto& row : rows) fit.add(row, 1);
  const double prior[2] = {0, 4};
  fit.add(prior, 8);
  fit.finish();
  CHECK_THAT(fit.coefficients()[0], WithinAbs(1, 1e-15));
  CHECK_THAT(fit.coefficients()[1], WithinAbs(2, 1e-15));
  CHECK_THAT(fit.sum_of_squares(), WithinAbs(1, 1e-15));  // from the row of zeros
}
