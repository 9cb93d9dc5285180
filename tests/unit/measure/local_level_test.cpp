// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/local_level.hpp"

#include <cmath>

#include "numeric/robust_regression.hpp"
#include "numeric/running_median.hpp"
#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;
using namespace evenwall::internal::numeric;

namespace {

constexpr double kHop_s = 0.00533;
constexpr std::size_t kHalf = 70;  // 0.375 s

}  // namespace

TEST_CASE("The local level follows a step of level and ignores a dropout") {
  std::vector<double> sizes(600, 1.0);
  for (std::size_t f = 300; f < 600; ++f) sizes[f] = 0.3;
  for (std::size_t f = 100; f < 119; ++f) sizes[f] = 0;  // 0.1 s
  LocalLevel local(sizes, 1.0, kHop_s);
  CHECK(local.at(110) == 1.0);
  CHECK(local.at(298) == 1.0);
  CHECK(local.at(302) == 0.3);
  CHECK(local.below(sizes[110], 0.5, 110));
  CHECK_FALSE(local.below(sizes[302], 0.5, 302));
  CHECK(local.above(1.0, 1.5, 302));
}

TEST_CASE("Comparisons with the local level agree with the running median") {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    INFO("seed " << seed);
    rig::Draw draw(seed);
    const auto frames = static_cast<std::size_t>(draw.uniform(1, 900));
    const double noise = std::pow(10.0, draw.uniform(-4, 0));
    const double odd = draw.uniform(0, 0.7);  // share of frames far from the level
    const double step_at = draw.uniform(0, 2) * static_cast<double>(frames);
    std::vector<double> sizes;
    for (std::size_t f = 0; f < frames; ++f) {
      const double level = static_cast<double>(f) < step_at ? 1.0 : 0.6;
      sizes.push_back(draw.uniform(0, 1) < odd ? draw.uniform(0, 3) : level * std::exp(noise * draw.normal()));
    }
    const std::vector<double> slow = running_median(sizes, kHalf);
    LocalLevel local(sizes, median(sizes), kHop_s);
    for (std::size_t f = 0; f < frames; ++f) {
      REQUIRE(local.below(sizes[f], 0.5, f) == (sizes[f] < 0.5 * slow[f]));
      REQUIRE(local.above(sizes[f], 1.5, f) == (sizes[f] > 1.5 * slow[f]));
    }
    REQUIRE(local.at(frames / 2) == slow[frames / 2]);
  }
}
