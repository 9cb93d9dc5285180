// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/excluded_steps.hpp"

#include "support/catch.hpp"
#include "support/holds.hpp"

using namespace evenwall;
using namespace evenwall::internal::tables;

TEST_CASE("A warning names each of the first twenty excluded steps, and one more warning counts the others and names the last") {
  for (const int count : {0, 1, 20, 21, 50}) {
    INFO(count);
    ExcludedSteps excluded("log.csv");
    Warnings warnings;
    int kept = 0;
    for (int i = 1; i <= count; ++i) kept += excluded.add("row " + std::to_string(i), warnings, "the step is excluded: ") ? 1 : 0;
    excluded.count(warnings);
    CHECK(kept == std::min(count, 20));
    REQUIRE(static_cast<int>(warnings.size()) == std::min(count, 21));
    if (count > 0) CHECK(warnings[0].message == "the step is excluded: row 1");
    if (count <= 20) continue;
    CHECK(holds(warnings.back().message,
                count == 21 ? "log.csv: 1 more step cannot be used. It is excluded." : "more steps cannot be used. They are excluded."));
    CHECK(holds(warnings.back().message, "The last step is reported as: row " + std::to_string(count)));
  }
}
