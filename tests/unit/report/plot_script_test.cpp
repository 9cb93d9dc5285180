// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/plot_script.hpp"

#include <limits>

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("a script contains commands and numbers, and a number that is not finite as NaN") {
  PlotScript script;
  script.command("set xrange [{:.3g}:{}]", -1.5, 2);
  script.data("steps", {{1, -2.25}, {std::numeric_limits<double>::quiet_NaN(), std::numeric_limits<double>::infinity()}});
  CHECK(script.text() == "set xrange [-1.5:2]\n$steps << END_OF_DATA\n1 -2.25\nNaN NaN\nEND_OF_DATA\n");
}
