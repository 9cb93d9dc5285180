// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/ranges.hpp"

#include <cmath>
#include <limits>
#include <stdexcept>

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::base;

TEST_CASE("The range of a key depends on its document and, if keys of one name differ, on its parent key") {
  CHECK(range_of("log", "tilt_deg").high == 45);
  CHECK(range_of("solution", "least_crosstalk", "tilt_deg").high == 90);
  CHECK(range_of("solution", "steps", "tilt_deg").high > 90);
  CHECK(range_of("reading", "same_passage", "re").high == 1e6);
  CHECK(range_of("reading", "right_into_left", "re").high == 1e12);
  CHECK_THROWS_AS(range_of("log", "colour"), std::logic_error);
}

TEST_CASE("Both ends belong to a range unless they are excluded, and NaN never belongs to it") {
  const Range& tilt = range_of("log", "tilt_deg");
  for (const double inside : {-45.0, 0.0, 45.0}) CHECK(in_range(tilt, inside));
  for (const double outside : {std::nextafter(45.0, 46.0), -1e308, 0x1p64, std::numeric_limits<double>::infinity(), std::nan("")})
    CHECK_FALSE(in_range(tilt, outside));
  const Range& u = range_of("meter", "u_db");
  CHECK_FALSE(in_range(u, 0));
  CHECK(in_range(u, 4.9e-324));
  const Range& count = range_of("survey", "solutions");
  CHECK(in_range(count, 3));
  CHECK_FALSE(in_range(count, 3.5));
}

TEST_CASE("The message states the number and the possible range") {
  CHECK(out_of_range_text(range_of("log", "tilt_deg"), 1e9) == "1e+09; the limit is 45°");
  CHECK(out_of_range_text(range_of("session", "gauge_u_deg"), -1) == "-1; 0 to 45° is possible");
  CHECK(out_of_range_text(range_of("meter", "u_db"), 0) == "0; more than 0 and up to 120 dB is possible");
  CHECK(out_of_range_text(range_of("scenario", "bits"), 2.5) == "2.5; a whole number from 16 to 32 is possible");
}

TEST_CASE("Every row of the table is a finite range with a reason") {
  for (const Range& row : all_ranges()) {
    INFO(std::string(row.family) << " " << std::string(row.key));
    CHECK(row.low < row.high);
    CHECK(std::isfinite(row.high - row.low));
    CHECK(row.reason.size() > 4);
  }
}
