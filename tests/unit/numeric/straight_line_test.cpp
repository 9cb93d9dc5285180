// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/straight_line.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

TEST_CASE("The straight line reproduces the certified values of NIST's Norris set") {
  // NIST StRD Norris, certified: slope 1.00211681802045, its standard deviation 0.429796848199937E-03.
  const std::vector<double> x{0.2, 337.4, 118.2, 884.6, 10.1,  226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4,
                              0.6, 775.5, 666.9, 338.0, 447.5, 11.6,  556.0, 228.1, 995.8, 887.6, 120.2, 0.3,
                              0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1,  118.3, 229.2, 669.1, 448.9, 0.5};
  const std::vector<double> y{0.1, 338.8, 118.1, 888.0, 9.2,   228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3,
                              0.1, 778.1, 668.8, 339.3, 448.9, 10.8,  557.7, 228.3, 998.0, 888.8, 119.6, 0.3,
                              0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2,  117.6, 228.9, 668.4, 449.2, 0.2};
  const auto line = straight_line(x, y, 0);
  REQUIRE(line);
  CHECK_THAT(line->slope, WithinRel(1.00211681802045, 1e-12));
  CHECK_THAT(line->u_slope, WithinRel(0.429796848199937e-3, 1e-11));
}

TEST_CASE("Too few points or equal abscissae give no line, and a perfect line keeps the least scatter") {
  CHECK_FALSE(straight_line({1, 2}, {1, 2}, 0));
  CHECK_FALSE(straight_line({1, 1, 1}, {1, 2, 3}, 0));
  CHECK_THAT(straight_line({-1, 0, 1}, {0, 1, 2}, 0.1)->u_slope, WithinRel(0.1 / std::sqrt(2.0), 1e-12));
  CHECK_THAT(straight_line({-1, 0, 1}, {0, 1, 2}, 0.1)->middle, WithinAbs(1, 1e-12));
}
