// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/chart_frame.hpp"

#include <algorithm>
#include <cmath>

#include "support/catch.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("A range spans the finite numbers with a margin, and is never too narrow") {
  const Range wide = range_of({-2, NAN, 6}, 0.25, 1);
  CHECK_THAT(wide.low, WithinAbs(-4, 1e-12));
  CHECK_THAT(wide.high, WithinAbs(8, 1e-12));
  const Range narrow = range_of({3, 3}, 0.1, 2);
  CHECK_THAT(narrow.high - narrow.low, WithinAbs(2, 1e-12));
  // However far out the numbers lie, the two ends differ and have ticks between them.
  for (const double far : {1e17, -1e29}) {
    const Range range = range_of({far, far}, 0, 1);
    CHECK(range.low < range.high);
    CHECK(tick_distance(range, 7) > 0);
  }
  CHECK_THAT(range_of({1e300, 3}, 0, 2).high, WithinAbs(4, 1e-12));  // 1e300 is skipped: an axis cannot show it
  const Range none = range_of({NAN}, 0.1, 1);
  CHECK(none.low == -1);
  CHECK(none.high == 1);
}

TEST_CASE("Ticks lie 1, 2 or 5 times a power of ten apart, and the range has at most as many as stated") {
  CHECK_THAT(tick_distance({0, 10}, 5), WithinAbs(2, 1e-12));
  CHECK_THAT(tick_distance({-0.3, 0.3}, 6), WithinAbs(0.1, 1e-12));
  for (const double span : {0.013, 0.7, 3.1, 42.0, 900.0}) {
    const double distance = tick_distance({0, span}, 7);
    CHECK(span / distance <= 7);
    CHECK(span / distance > 7 / 2.6);
  }
}

TEST_CASE("The axis of tilts contains every step and the answer") {
  Solution s = example_solution();
  s.recommended.tilt_deg = 3.5;
  const Range tilts = tilt_range(s);
  CHECK(tilts.low <= -2);
  CHECK(tilts.high >= 3.5);
}
