// SPDX-License-Identifier: GPL-3.0-or-later
#include "survey/drift.hpp"

#include "support/catch.hpp"
#include "support/invented_archive.hpp"

using namespace evenwall;
using namespace evenwall::internal::survey;

TEST_CASE("A date is converted to years, and a year or a month counts as its middle") {
  CHECK(years_of("2000-01-01") == 0.0);
  CHECK_THAT(*years_of("2004-01-01"), WithinAbs(4, 1e-9));  // 1461 days
  CHECK_THAT(*years_of("2001"), WithinAbs(1.5, 0.01));
  CHECK(years_of("2026-05") == years_of("2026-05-15"));
  CHECK(years_of("2026-05-14T09:30") == years_of("2026-05-14"));
  for (const char* wrong : {"", "x", "2026-13-01", "2026-02-30", "14.5.2026", "2026-5-1", "20260514"}) {
    CAPTURE(wrong);
    CHECK_FALSE(years_of(wrong));
  }
}

TEST_CASE("In archives without a drift, a p-value below 5 % occurs in about 5 % of them") {
  int called = 0;
  for (unsigned seed = 1; seed <= 200; ++seed) {
    InventedArchive a = invented_archive(20, 3, 2, 0.03, seed);
    for (std::size_t k = 0; k < a.solutions.size(); ++k) a.solutions[k].date = std::to_string(2010 + (k * 7) % 12) + "-03-01";
    const auto d = drift_of(archived(a.solutions));
    REQUIRE(d);
    called += d->p_value < 0.05 ? 1 : 0;
  }
  CHECK(called >= 2);  // 10 expected at 5 %; fewer than 2 or more than 20 has probability below 1e-3
  CHECK(called <= 20);
}

TEST_CASE("Fewer than three different dates determine no drift") {
  InventedArchive a = invented_archive(10, 2, 2, 0.03, 1);
  CHECK_FALSE(drift_of(archived(a.solutions)));
  for (std::size_t k = 0; k < a.solutions.size(); ++k) a.solutions[k].date = k % 2 == 0 ? "2020" : "2021";
  CHECK_FALSE(drift_of(archived(a.solutions)));
}
