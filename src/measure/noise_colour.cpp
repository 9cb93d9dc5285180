// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/noise_colour.hpp"

#include <algorithm>
#include <cmath>
#include <vector>

#include "measure/lean_constants.hpp"
#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {
namespace {

struct Surplus {
  double value = 0;
  double share = 0;  // prior probability
};

/// Prior of an excess: zero, or one value of a grid around `usual` with a normal distribution of the logarithms.
std::vector<Surplus> excesses(double likely, double usual, double spread) {
  std::vector<Surplus> grid{{0.0, 1 - likely}};
  double all = 0;
  for (int i = -kExcessSteps; i <= kExcessSteps; ++i) {
    const double off = kExcessReach * i / kExcessSteps;
    grid.push_back({usual * std::exp(spread * off), std::exp(-0.5 * off * off)});
    all += grid.back().share;
  }
  for (std::size_t i = 1; i < grid.size(); ++i) grid[i].share *= likely / all;
  return grid;
}

double log_likelihood(const BlockScatter& scatter, double variance) {
  return -0.5 * scatter.degrees_of_freedom * (std::log(variance) + scatter.ratio / variance);
}

}  // namespace

NoiseColour noise_colour(const BlockScatter& along, const BlockScatter& across, double slow_variance) {
  const std::vector<Surplus> both = excesses(kColouredShare, kUsualColour, kColourSpread);
  const std::vector<Surplus> one = excesses(kSlowShare, std::max(slow_variance, kLeastExcess), kSlowSpread);
  struct Weighed {
    double log_weight, both, along, across;
  };
  std::vector<Weighed> all;
  for (const Surplus& b : both) {
    for (const Surplus& a : one) {
      for (const Surplus& c : {Surplus{0.0, 0.5}, Surplus{a.value * kAcrossOfSlow, 0.5}}) {
        all.push_back({std::log(b.share * a.share * c.share) + log_likelihood(along, 1 + b.value + a.value) +
                           log_likelihood(across, 1 + b.value + c.value),
                       b.value, a.value, c.value});
      }
    }
  }
  double best = all.front().log_weight;
  for (const Weighed& w : all) best = std::max(best, w.log_weight);
  NoiseColour colour{0, 0, 0};
  double sum = 0;
  for (const Weighed& w : all) {
    const double share = std::exp(w.log_weight - best);
    sum += share;
    colour.noise += share * w.both;
    colour.along += share * w.along;
    colour.across += share * w.across;
  }
  return {1 + colour.noise / sum, colour.along / sum, colour.across / sum};
}

}  // namespace evenwall::internal::measure
