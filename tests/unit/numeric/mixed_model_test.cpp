// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/mixed_model.hpp"

#include "support/catch.hpp"
#include "support/dense_mixed_model.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

namespace {

/// −2 log likelihood from the whole matrices at the fitted variances, each multiplied by a factor.
double dense_criterion(const CrossedData& data, const VarianceComponents& v, double by_first, double by_second) {
  return DenseMixedModel(data, by_first * v.first / v.residual, by_second * v.second / v.residual).criterion;
}

double dense_criterion_at(const CrossedData& data, double first, double second) { return DenseMixedModel(data, first, second).criterion; }

}  // namespace

TEST_CASE("Over random tables, no other variances have a higher likelihood than the fitted ones") {
  std::mt19937_64 random(3);
  int zeros = 0, seen = 0;
  for (int n = 0; n < 100; ++n) {
    const CrossedData data = random_crossed(random, n % 3 == 0);
    MixedModel model(data);
    if (!model.separable()) continue;
    ++seen;
    model.fit();
    const VarianceComponents v = model.variances();
    CAPTURE(n, v.first, v.second, v.residual);
    const double least = dense_criterion(data, v, 1, 1);
    // A step of 1e-3 in a variance raises the criterion by about 1e-6, which is far above rounding.
    for (const double factor : {0.999, 1.001}) {
      CHECK(dense_criterion(data, v, factor, 1) >= least - 1e-10);
      CHECK(dense_criterion(data, v, 1, factor) >= least - 1e-10);
    }
    for (const double first : {0.0, 0.01, 0.1, 1.0, 10.0, 100.0}) {
      for (const double second : {0.0, 0.01, 0.1, 1.0, 10.0, 100.0}) CHECK(dense_criterion_at(data, first, second) >= least - 1e-9);
    }
    zeros += v.first == 0 || v.second == 0 ? 1 : 0;
  }
  CHECK(seen > 60);
  CHECK(zeros > 3);  // variances of zero are among the tested cases
}

TEST_CASE("A leave-one-out residual equals that of a fit without the observation at the same variance ratios") {
  std::mt19937_64 random(5);
  CrossedData data = random_crossed(random, true);
  while (data.first_levels < 5 || data.second_levels < 4) data = random_crossed(random, true);
  MixedModel model(data);
  model.fit();
  const VarianceComponents v = model.variances();
  const auto residuals = model.left_out_residuals();
  for (std::size_t k = 0; k < data.y.size(); k += 3) {
    CrossedData without = data;
    const auto drop = [k](auto& list) { list.erase(list.begin() + static_cast<std::ptrdiff_t>(k)); };
    drop(without.y), drop(without.first), drop(without.second), drop(without.covariate);
    const DenseMixedModel d(without, v.first / v.residual, v.second / v.residual);
    const auto [expected, error] =
        d.predicted(Eigen::Vector2d(1, data.covariate[k]), Eigen::VectorXd::Unit(data.first_levels, data.first[k]),
                    Eigen::VectorXd::Unit(data.second_levels, data.second[k]));
    CHECK_THAT(residuals[k].expected, WithinAbs(expected, 1e-8));
    CHECK_THAT(residuals[k].standardised, WithinRel((data.y[k] - expected) / std::sqrt((1 + error) * d.residual_variance), 1e-6));
  }
}

TEST_CASE("Designs that cannot separate the variances are reported as inseparable") {
  const auto separable = [](const CrossedData& data) { return MixedModel(data).separable(); };
  CHECK_FALSE(separable({{1, 2, 3, 4}, {0, 1, 2, 3}, {}, 4, 0, {}}));            // each cartridge once: effect and error are inseparable
  CHECK_FALSE(separable({{1, 2, 3, 4}, {0, 0, 1, 1}, {0, 0, 1, 1}, 2, 2, {}}));  // each cartridge on its own record
  CHECK_FALSE(separable({{1, 2, 3, 4}, {0, 0, 1, 1}, {0, 0, 0, 0}, 2, 1, {}}));  // one record
  CHECK_FALSE(separable({{1, 2, 3}, {0, 0, 1}, {0, 1, 0}, 2, 2, {}}));           // three numbers for three variances and a mean
  CHECK(separable({{1, 2, 3, 5}, {0, 0, 1, 1}, {0, 1, 0, 1}, 2, 2, {}}));        // two by two
  CHECK(separable({{1, 2, 3, 5, 4}, {0, 0, 1, 1, 1}, {}, 2, 0, {}}));
}

TEST_CASE("The magnitude and the offset of the numbers do not affect the fit") {
  std::mt19937_64 random(9);
  CrossedData data = random_crossed(random, false);
  while (!MixedModel(data).separable()) data = random_crossed(random, false);
  CrossedData far = data;
  for (double& y : far.y) y = 1e6 + 1e-3 * y;
  MixedModel near_model(data), far_model(far);
  near_model.fit(), far_model.fit();
  // The offset 1e6 takes ten of the sixteen digits of numbers with a magnitude of a thousandth. The variances keep an accuracy of 1e-6.
  CHECK_THAT(far_model.variances().residual, WithinRel(1e-6 * near_model.variances().residual, 1e-6));
  CHECK_THAT(far_model.variances().first, WithinRel(1e-6 * near_model.variances().first, 1e-6));
  CHECK_THAT(far_model.estimates().mean.u, WithinRel(1e-3 * near_model.estimates().mean.u, 1e-6));
}

TEST_CASE("A table without residual error is solved") {
  CrossedData data;
  data.first_levels = 4, data.second_levels = 3;
  for (int i = 0; i < 4; ++i) {
    for (int j = 0; j < 3; ++j) data.first.push_back(i), data.second.push_back(j), data.y.push_back(0.5 * i * i - 0.25 * j);
  }
  MixedModel model(data);
  model.fit();
  CHECK(model.variances().residual < 1e-6);
  CHECK_THAT(model.variances().second, WithinRel(0.0625, 1e-3));  // variance of −0.25, 0, 0.25
  CHECK(std::isfinite(model.estimates().mean.u));
}
