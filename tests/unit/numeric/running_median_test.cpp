// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/running_median.hpp"

#include "numeric/robust_regression.hpp"
#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

TEST_CASE("The running median equals the median of each window") {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    rig::Draw draw(seed);
    std::vector<double> values;
    const auto n = static_cast<std::size_t>(draw.uniform(0, 60));
    // Every other seed has many equal values.
    for (std::size_t i = 0; i < n; ++i) values.push_back(seed % 2 == 0 ? std::floor(draw.uniform(0, 5)) : draw.normal());
    for (const std::size_t half : {0U, 1U, 7U, 100U}) {
      INFO("seed " << seed << ", half " << half);
      const auto medians = running_median(values, half);
      REQUIRE(medians.size() == n);
      for (std::size_t i = 0; i < n; ++i) {
        const auto first = values.begin() + static_cast<std::ptrdiff_t>(i > half ? i - half : 0);
        const auto last = values.begin() + static_cast<std::ptrdiff_t>(std::min(n, i + half + 1));
        REQUIRE(medians[i] == median({first, last}));
      }
    }
  }
}
