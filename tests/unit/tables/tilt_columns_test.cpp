// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/tilt_columns.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::tables;

TEST_CASE("names that suggest a tilt are found, and others are not") {
  for (const char* name : {"tilt", "Tilt_Deg", "AZIMUTH", "angle (front)", "degrees", "units"}) CHECK(like_tilt_column({"capture", name}));
  for (const char* name : {"tilt_u", "note", "", "date", "use"}) CHECK_FALSE(like_tilt_column({"capture", name}));
}

TEST_CASE("tilts that look like another unit are reported") {
  const auto codes = [](std::initializer_list<const char*> cells) {
    UnitWatch watch;
    for (const char* cell : cells) watch.see(cell);
    Warnings warnings;
    watch.warn("steps.csv", warnings);
    return warnings.size();
  };
  CHECK(codes({"-1", "0", "1"}) == 0);
  CHECK(codes({"-60", "0", "60"}) == 1);
  CHECK(codes({"-0.02", "0", "0.02"}) == 1);
  CHECK(codes({"", "no number"}) == 0);
}
