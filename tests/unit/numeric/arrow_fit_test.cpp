// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/arrow_fit.hpp"

#include "support/catch.hpp"
#include "support/least_squares.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

namespace {

/// Holds the same rows for both fits.
struct Twins {
  ArrowFit arrow;
  Eigen::MatrixXd design;
  Eigen::VectorXd values;
  Eigen::Index blocks, used = 0;

  Twins(Eigen::Index blocks_given, Eigen::Index common, Eigen::Index rows)
      : arrow(blocks_given, common),
        design(Eigen::MatrixXd::Zero(rows, blocks_given + common)),
        values(Eigen::VectorXd::Zero(rows)),
        blocks(blocks_given) {}
  /// block −1: a row that contains no block's own unknown
  void add(Eigen::Index block, double own_slope, const Eigen::VectorXd& slopes, double value) {
    if (block >= 0) design(used, block) = own_slope;
    design.row(used).tail(slopes.size()) = slopes.transpose();
    values[used++] = value;
    if (block >= 0)
      arrow.add(own_slope, slopes.data(), value);
    else
      arrow.add_common(slopes.data(), value);
  }
};

Twins random_twins(rig::Draw& draw) {
  const auto blocks = static_cast<Eigen::Index>(draw.uniform(1, 40));
  const auto common = static_cast<Eigen::Index>(draw.uniform(1, 12));
  Twins twins(blocks, common, 6 * blocks + common);
  const auto slopes = [&] { return Eigen::VectorXd(Eigen::VectorXd::NullaryExpr(common, [&] { return draw.normal(); })); };
  for (Eigen::Index b = 0; b < blocks; ++b) {
    const int rows = 1 + static_cast<int>(draw.uniform(0, 6));
    for (int row = 0; row < rows; ++row) {
      // The first row may be one with a slope of 0 for the block's own unknown.
      twins.add(b, rows > 1 && row == 0 && draw.uniform(0, 1) < 0.3 ? 0.0 : 100 * draw.normal(), slopes(), draw.normal());
    }
    twins.arrow.end_block();
  }
  for (Eigen::Index k = 0; k < common; ++k) twins.add(-1, 0, 3 * Eigen::VectorXd::Unit(common, k), draw.normal());
  return twins;
}

}  // namespace

TEST_CASE("A fit that eliminates block by block equals the dense fit") {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    INFO("seed " << seed);
    rig::Draw draw(seed);
    Twins twins = random_twins(draw);
    CHECK(twins.arrow.rows() == twins.used);
    const dense::LeastSquaresFit dense = dense::least_squares(twins.design.topRows(twins.used), twins.values.head(twins.used));
    const Eigen::VectorXd u = dense.covariance.diagonal().cwiseSqrt();
    const auto found = twins.arrow.coefficients();
    Eigen::VectorXd all(u.size());
    all << found.own, found.common;
    // In units of standard deviations: the rounding of about 200 values of order one.
    CHECK((all - dense.coefficients).cwiseQuotient(u).cwiseAbs().maxCoeff() < 1e-11);
    const SharedCovariance covariance = twins.arrow.covariance();
    const Eigen::MatrixXd written = covariance.top_left_corner(u.size(), u.size());
    CHECK((written - dense.covariance).cwiseQuotient(u * u.transpose()).cwiseAbs().maxCoeff() < 1e-11);
    CHECK_THAT(twins.arrow.log_determinant(), WithinAbs(-dense.covariance.llt().matrixLLT().diagonal().array().log().sum() * 2, 1e-8));
    CHECK_THAT(twins.arrow.squares_of_values(), WithinRel(twins.values.squaredNorm(), 1e-13));
  }
}
