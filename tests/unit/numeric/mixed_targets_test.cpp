// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/mixed_targets.hpp"

#include "support/catch.hpp"
#include "support/dense_mixed_model.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

// The limit 1e-8 covers the rounding of the elimination and of the whole matrices; see mixed_equations_test.cpp.
TEST_CASE("Predictions and their variances equal those of the whole matrices, whichever factor is eliminated") {
  std::mt19937_64 random(11);
  std::uniform_real_distribution<double> exponent(-2, 3);
  int absorbed_second = 0;
  for (int n = 0; n < 200; ++n) {
    const CrossedData data = random_crossed(random, n % 2 == 0);
    const double first = n % 10 == 0 ? 0 : std::pow(10, exponent(random));
    const double second = n % 10 == 1 ? 0 : std::pow(10, exponent(random));
    CAPTURE(n, first, second, data.first_levels, data.second_levels);
    const MixedEquations equations(data);
    absorbed_second += equations.absorbs_first ? 0 : 1;
    const EquationsAt e = equations.at(equations.absorbs_first ? VarianceRatios{first, second} : VarianceRatios{second, first});
    const Targets t = targets_of(equations, e, 2.5);
    const DenseMixedModel d(data, first, second);
    const Eigen::Index fixed = d.x.cols();
    REQUIRE(t.value.size() == fixed + data.first_levels + data.second_levels);
    const auto check = [&](Eigen::Index at, const Eigen::VectorXd& c, const Eigen::VectorXd& r, const Eigen::VectorXd& s) {
      const auto [value, error] = d.predicted(c, r, s);
      CHECK_THAT(t.value[at], WithinRel(value, 1e-7) || WithinAbs(value, 1e-8));
      CHECK_THAT(t.variance[at], WithinRel(2.5 * error, 1e-7) || WithinAbs(2.5 * error, 1e-9));
    };
    const Eigen::VectorXd none_first = Eigen::VectorXd::Zero(data.first_levels), none_second = Eigen::VectorXd::Zero(data.second_levels);
    for (Eigen::Index k = 0; k < fixed; ++k) check(k, Eigen::VectorXd::Unit(fixed, k), none_first, none_second);
    for (Eigen::Index i = 0; i < data.first_levels; ++i)
      check(fixed + i, Eigen::VectorXd::Unit(fixed, 0), Eigen::VectorXd::Unit(data.first_levels, i), none_second);
    for (Eigen::Index j = 0; j < data.second_levels; ++j) {
      const Eigen::VectorXd contrast = Eigen::VectorXd::Unit(data.second_levels, j).array() - 1.0 / data.second_levels;
      check(fixed + data.first_levels + j, Eigen::VectorXd::Zero(fixed), none_first, contrast);
    }
  }
  CHECK(absorbed_second > 50);
}
