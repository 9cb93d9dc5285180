// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/mixed_equations.hpp"

#include "support/catch.hpp"
#include "support/dense_mixed_model.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

namespace {

double trace_of(const Eigen::MatrixXd& a, const Eigen::MatrixXd& b) { return a.cwiseProduct(b.transpose()).sum(); }

}  // namespace

// The limit is 1e-9 of each quantity's magnitude: the tables have at most 162 rows, and both computations round at 1e-13.
TEST_CASE("Over random tables and variance ratios, elimination gives the same results as the whole matrices") {
  std::mt19937_64 random(7);
  std::uniform_real_distribution<double> exponent(-3, 4);
  for (int n = 0; n < 300; ++n) {
    const CrossedData data = random_crossed(random, n % 2 == 0);
    const double first = n % 10 == 0 ? 0 : std::pow(10, exponent(random));
    const double second = n % 10 == 1 ? 0 : std::pow(10, exponent(random));
    CAPTURE(n, first, second, data.first_levels, data.second_levels, data.y.size());
    const MixedEquations equations(data);
    const bool straight = equations.absorbs_first;
    const EquationsAt e = equations.at(straight ? VarianceRatios{first, second} : VarianceRatios{second, first});
    const DenseMixedModel d(data, first, second);
    CHECK_THAT(e.criterion, WithinRel(d.criterion, 1e-9) || WithinAbs(d.criterion, 1e-8));
    CHECK_THAT(e.residual_variance, WithinRel(d.residual_variance, 1e-8));
    CHECK_THAT(e.unknowns[0], WithinRel(d.beta[0], 1e-9));
    CHECK_THAT(e.covariance(0, 0), WithinRel(d.beta_covariance(0, 0), 1e-8));
    const Eigen::MatrixXd& absorbed = straight ? d.first : d.second;
    const Eigen::MatrixXd& kept = straight ? d.second : d.first;
    const Eigen::MatrixXd v[] = {absorbed * absorbed.transpose(), kept * kept.transpose(),
                                 Eigen::MatrixXd::Identity(d.v.rows(), d.v.rows())};
    const Eigen::VectorXd py = d.p * d.y;
    for (int k = 0; k < 3; ++k) {
      CHECK_THAT(e.trace[k], WithinRel(trace_of(d.p, v[k]), 1e-7) || WithinAbs(trace_of(d.p, v[k]), 1e-9));
      if (k < 2) CHECK_THAT(e.quadratic[k], WithinRel(py.dot(v[k] * py), 1e-6) || WithinAbs(py.dot(v[k] * py), 1e-10));
      for (int l = 0; l < 3; ++l) {
        const double f = trace_of(d.p * v[k], d.p * v[l]);
        CHECK_THAT(e.information(k, l), WithinRel(f, 1e-6) || WithinAbs(f, 1e-9));
      }
    }
  }
}

TEST_CASE("The larger factor is eliminated, and a table without factors is fitted as a plain mean") {
  CrossedData data{{1, 2, 4}, {0, 1, 2}, {0, 1, 1}, 3, 2, {}};
  CHECK(MixedEquations(data).absorbs_first);
  std::swap(data.first, data.second);
  std::swap(data.first_levels, data.second_levels);
  CHECK_FALSE(MixedEquations(data).absorbs_first);
  const MixedEquations plain(CrossedData{{1, 2, 6}, {}, {}, 0, 0, {}});
  CHECK_FALSE(plain.has_absorbed);
  CHECK_THAT(plain.at({0, 0}).unknowns[0], WithinRel(3.0, 1e-14));
  CHECK_THAT(plain.at({0, 0}).residual_variance, WithinRel(7.0, 1e-14));  // (4 + 1 + 9)/2
}
