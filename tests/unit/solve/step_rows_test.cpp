// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/step_rows.hpp"

#include "support/catch.hpp"
#include "support/least_squares.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

TEST_CASE("A fit that eliminates the gains of each step equals the dense fit") {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    INFO("seed " << seed);
    rig::Draw draw(seed);
    const auto steps = static_cast<Eigen::Index>(draw.uniform(1, 9));
    const GainSpread spread{seed % 3 == 0 ? 0 : 0.05, seed % 3 == 1 ? 0 : 0.4};
    const Eigen::Index own = (spread.neper > 0 ? 1 : 0) + (spread.phase_rad > 0 ? 1 : 0);
    StepRows rows(steps, spread);
    Eigen::MatrixXd design = Eigen::MatrixXd::Zero(steps * (6 + own) + kCommonSize, steps * (1 + own) + kCommonSize);
    Eigen::VectorXd values = Eigen::VectorXd::Zero(design.rows());
    Eigen::Index used = 0;
    for (Eigen::Index s = 0; s < steps; ++s) {
      for (int row = 0; row < 6; ++row) {
        const Eigen::VectorXd slopes = Eigen::VectorXd::NullaryExpr(kCommonSize, [&] { return 3 * draw.normal(); });
        const double psi = 100 * draw.normal(), value = draw.normal();
        rows.add(psi, slopes.data(), value);
        // By definition, own unknowns have the slopes of the common gain and phase.
        design(used, s) = psi;
        Eigen::Index column = steps + s * own;
        if (spread.neper > 0) design(used, column++) = slopes[kLnGain];
        if (spread.phase_rad > 0) design(used, column) = slopes[kGainPhase];
        design.row(used).tail(kCommonSize) = slopes.transpose();
        values[used++] = value;
      }
      const Complex stands(0.02 * draw.normal(), 0.1 * draw.normal());
      Eigen::Index column = steps + s * own;
      if (spread.neper > 0) design(used, column++) = 1 / spread.neper, values[used++] = -stands.real() / spread.neper;
      if (spread.phase_rad > 0) design(used, column) = 1 / spread.phase_rad, values[used++] = -stands.imag() / spread.phase_rad;
      rows.end_step(stands);
    }
    for (Eigen::Index k = 0; k < kCommonSize; ++k) {
      const Eigen::VectorXd slopes = 3 * Eigen::VectorXd::Unit(kCommonSize, k);
      rows.add_common(slopes.data(), 0.5);
      design.row(used).tail(kCommonSize) = slopes.transpose();
      values[used++] = 0.5;
    }
    const dense::LeastSquaresFit dense = dense::least_squares(design.topRows(used), values.head(used));
    const StepRows::Coefficients found = rows.coefficients();
    CHECK((found.psi - dense.coefficients.head(steps)).cwiseAbs().maxCoeff() < 1e-11);
    CHECK((found.common - dense.coefficients.tail(kCommonSize)).cwiseAbs().maxCoeff() < 1e-11);
    for (Eigen::Index s = 0; s < steps; ++s) {
      Eigen::Index column = steps + s * own;
      if (spread.neper > 0) CHECK_THAT(found.ln_gain[s].real(), WithinAbs(dense.coefficients[column++], 1e-11));
      if (spread.phase_rad > 0) CHECK_THAT(found.ln_gain[s].imag(), WithinAbs(dense.coefficients[column], 1e-11));
    }
    const Eigen::MatrixXd covariance = rows.covariance().top_left_corner(steps, steps);
    CHECK((covariance - dense.covariance.topLeftCorner(steps, steps)).cwiseAbs().maxCoeff() < 1e-12);
    // Own gains are in units of the spread: the determinant is that of the dense fit without the contribution of the units.
    const double units = static_cast<double>(steps) * ((spread.neper > 0 ? 2 * std::log(spread.neper) : 0) +
                                                       (spread.phase_rad > 0 ? 2 * std::log(spread.phase_rad) : 0));
    CHECK_THAT(rows.log_determinant(), WithinAbs(-std::log(dense.covariance.determinant()) + units, 1e-8));
    CHECK_THAT(rows.squares_of_values(), WithinRel(values.head(used).squaredNorm(), 1e-12));
  }
}
