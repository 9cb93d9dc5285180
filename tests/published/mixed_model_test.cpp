// SPDX-License-Identifier: GPL-3.0-or-later
// Compares the mixed model with published results. The tables are typed in, each with its source.
#include "numeric/mixed_model.hpp"

#include <map>

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

namespace {

using Table = std::vector<std::vector<double>>;

// O. L. Davies, P. L. Goldsmith (eds), Statistical Methods in Research and Production, 4th ed., 1972, section 6.6: diameters of growth
// inhibition, 24 plates by 6 samples (as distributed with R's lme4 1.1-31, lme4::Penicillin).
const Table kPenicillin{{27, 23, 26, 23, 23, 21}, {27, 23, 26, 23, 23, 21}, {25, 21, 25, 24, 24, 20}, {26, 23, 25, 23, 23, 20},
                        {25, 22, 26, 22, 23, 20}, {24, 22, 25, 23, 22, 19}, {24, 20, 23, 21, 22, 19}, {26, 22, 26, 24, 24, 21},
                        {24, 21, 24, 22, 22, 20}, {24, 21, 24, 23, 22, 19}, {26, 23, 26, 24, 24, 21}, {25, 22, 26, 24, 24, 20},
                        {26, 24, 26, 24, 25, 22}, {26, 23, 26, 23, 23, 20}, {26, 23, 25, 24, 24, 22}, {25, 22, 25, 23, 23, 20},
                        {25, 21, 24, 23, 23, 20}, {25, 22, 24, 23, 23, 19}, {24, 21, 23, 21, 21, 19}, {26, 23, 26, 24, 24, 21},
                        {25, 21, 24, 22, 22, 18}, {25, 22, 25, 22, 22, 20}, {24, 21, 24, 22, 24, 19}, {24, 21, 24, 22, 21, 18}};

// The same book, section 6.4: yields of dyestuff, 6 batches of 5 (lme4::Dyestuff).
const Table kDyestuff{{1545, 1440, 1440, 1520, 1580}, {1540, 1555, 1490, 1560, 1495}, {1595, 1550, 1605, 1510, 1560},
                      {1445, 1440, 1595, 1465, 1545}, {1595, 1630, 1515, 1635, 1625}, {1520, 1455, 1450, 1480, 1445}};

// G. E. P. Box, G. C. Tiao, Bayesian Inference in Statistical Analysis, 1973, section 5.1.2, simulated (lme4::Dyestuff2).
const Table kDyestuff2{{7.298, 3.846, 2.434, 9.566, 7.99}, {5.22, 6.556, 0.608, 11.788, -0.892}, {0.11, 10.386, 13.434, 5.51, 8.166},
                       {2.212, 4.852, 7.092, 9.288, 4.98}, {0.282, 9.014, 4.458, 9.446, 7.198},  {1.722, 4.782, 8.106, 0.758, 3.758}};

// J. L. Devore 2000, by way of J. C. Pinheiro, D. M. Bates 2000: ultrasonic travel time in 6 rails, 3 times each (nlme::Rail).
const Table kRail{{55, 53, 54}, {26, 37, 32}, {78, 91, 85}, {92, 100, 96}, {49, 51, 50}, {80, 85, 83}};

CrossedData one_way(const Table& table) {
  CrossedData d;
  d.first_levels = static_cast<int>(table.size());
  for (std::size_t i = 0; i < table.size(); ++i) {
    for (const double y : table[i]) d.y.push_back(y), d.first.push_back(static_cast<int>(i));
  }
  return d;
}

/// Penicillin, with plates as the first factor. If `unbalanced`, every fifth row and samples A, D, F on plates c and k are missing.
CrossedData penicillin(bool unbalanced) {
  CrossedData d;
  d.first_levels = 24;
  d.second_levels = 6;
  for (int plate = 0; plate < 24; ++plate) {
    for (int sample = 0; sample < 6; ++sample) {
      const bool left_out =
          (6 * plate + sample + 1) % 5 == 0 || ((plate == 2 || plate == 10) && (sample == 0 || sample == 3 || sample == 5));
      if (unbalanced && left_out) continue;
      d.y.push_back(kPenicillin[static_cast<std::size_t>(plate)][static_cast<std::size_t>(sample)]);
      d.first.push_back(plate);
      d.second.push_back(sample);
    }
  }
  return d;
}

MixedModel fitted(const CrossedData& data) {
  MixedModel model(data);
  REQUIRE(model.separable());
  model.fit();
  return model;
}

}  // namespace

// For balanced sets REML equals the estimators of the analysis of variance, here exact fractions in decimals. The requirement is 6 digits.
// The tolerance is 1e-9, since only rounding and the stop of the iteration cause differences.
TEST_CASE("The mixed model reproduces Penicillin, a balanced crossed table") {
  const MixedModel model = fitted(penicillin(false));
  CHECK_THAT(model.variances().first, WithinRel(0.7169082125603865, 1e-9));
  CHECK_THAT(model.variances().second, WithinRel(3.7309178743961353, 1e-9));
  CHECK_THAT(model.variances().residual, WithinRel(0.30241545893719807, 1e-9));
  CHECK_THAT(model.criterion(), WithinAbs(330.860589, 1e-6));  // lme4 1.1-31, printed to 6 decimals
  const MixedEstimates e = model.estimates();
  CHECK_THAT(e.mean.value, WithinRel(22.972222222222222, 1e-12));
  CHECK_THAT(e.mean.u, WithinRel(0.808573390985487, 1e-8));  // no enlargement if balanced, up to numerical derivatives
  // Predictions of the samples, computed from the exact variances in rational arithmetic.
  const double samples[] = {2.18705796743, -1.01047614951, 1.93789946481, -0.09689497324, -0.01384213903, -3.00374417046};
  for (std::size_t j = 0; j < 6; ++j) CHECK_THAT(e.second_contrasts.at(j).value, WithinAbs(samples[j], 1e-9));
}

TEST_CASE("The mixed model gives the same variances, whichever factor is eliminated") {
  CrossedData turned = penicillin(true);
  std::swap(turned.first, turned.second);
  std::swap(turned.first_levels, turned.second_levels);
  const VarianceComponents v = fitted(turned).variances();
  const VarianceComponents straight = fitted(penicillin(true)).variances();
  CHECK_THAT(v.second, WithinRel(straight.first, 1e-10));
  CHECK_THAT(v.first, WithinRel(straight.second, 1e-10));
}

// This set has no closed form. lme4 1.1-31 (bobyqa, rhoend 1e-12) and a dense REML in NumPy search the criterion without derivatives. The
// criterion is flat to rounding within 3e-7 of its minimum, so 6 digits are compared with them. The zero of the dense criterion's gradient
// (SciPy's fsolve on it, to 1e-13) is known more accurately.
TEST_CASE("The mixed model reproduces Penicillin with missing values, an unbalanced crossed table") {
  const MixedModel model = fitted(penicillin(true));
  CHECK_THAT(model.variances().first, WithinRel(0.7122081471177739, 5e-7));
  CHECK_THAT(model.variances().second, WithinRel(3.9587615276628676, 5e-7));
  CHECK_THAT(model.variances().residual, WithinRel(0.32394606283712074, 5e-7));
  CHECK_THAT(model.variances().first, WithinRel(0.7122081671357038, 1e-10));
  CHECK_THAT(model.variances().second, WithinRel(3.958762534576039, 1e-10));
  CHECK_THAT(model.variances().residual, WithinRel(0.32394605563798723, 1e-10));
  CHECK_THAT(model.criterion(), WithinAbs(272.766722458211, 1e-8));
  CHECK_THAT(model.estimates().mean.value, WithinRel(22.971780016128932, 1e-7));
  CHECK_THAT(model.estimates().mean.u, WithinRel(0.8322329266775073, 1e-3));  // ours also includes the uncertainty of the variances
}

TEST_CASE("The mixed model reproduces Penicillin with missing values and a covariate") {
  CrossedData data = penicillin(true);
  // x = (row number in the whole table mod 7) − 3, rows from 1.
  for (std::size_t k = 0; k < data.y.size(); ++k) data.covariate.push_back((6 * data.first[k] + data.second[k] + 1) % 7 - 3);
  const MixedModel model = fitted(data);
  CHECK_THAT(model.variances().first, WithinRel(0.7026255689090275, 1e-7));
  CHECK_THAT(model.variances().second, WithinRel(3.9858265820978946, 1e-7));
  CHECK_THAT(model.variances().residual, WithinRel(0.31702713919296255, 1e-7));
  CHECK_THAT(model.estimates().slope.value, WithinRel(0.049726881947991755, 1e-7));
  CHECK_THAT(model.estimates().slope.u, WithinRel(0.028398283889752757, 5e-3));  // ours includes the uncertainty of the variances
}

TEST_CASE("The mixed model reproduces Rail and Dyestuff, tables with one factor") {
  const MixedModel rail = fitted(one_way(kRail));
  CHECK_THAT(rail.variances().first, WithinRel(27689.0 / 45, 1e-9));
  CHECK_THAT(rail.variances().residual, WithinRel(97.0 / 6, 1e-9));
  CHECK_THAT(rail.criterion(), WithinAbs(122.177001, 1e-6));
  CHECK_THAT(rail.estimates().mean.u, WithinRel(10.171037311896953, 1e-8));
  CHECK_THAT(rail.estimates().mean.degrees_of_freedom, WithinRel(5.0, 1e-4));  // rails − 1, exact for a balanced table
  const MixedModel dyestuff = fitted(one_way(kDyestuff));
  CHECK_THAT(dyestuff.variances().first, WithinRel(1764.05, 1e-9));
  CHECK_THAT(dyestuff.variances().residual, WithinRel(2451.25, 1e-9));
  CHECK_THAT(dyestuff.criterion(), WithinAbs(319.654277, 1e-6));
  CHECK_THAT(dyestuff.estimates().mean.u, WithinRel(19.383412152318968, 1e-8));
}

TEST_CASE("The mixed model finds the variance of exactly zero in Dyestuff2") {
  const MixedModel model = fitted(one_way(kDyestuff2));
  CHECK(model.variances().first == 0);
  CHECK_THAT(model.variances().residual, WithinRel(13.80631, 1e-6));  // printed to 7 digits
  CHECK_THAT(model.criterion(), WithinAbs(161.828278, 1e-6));
  CHECK_THAT(model.estimates().mean.value, WithinRel(5.6656, 1e-9));
}
