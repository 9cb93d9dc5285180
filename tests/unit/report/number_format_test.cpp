// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/number_format.hpp"

#include <limits>

#include "evenwall/report.hpp"
#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

std::string both(double value, double u, int most_decimals = kMostDecimals) {
  return signed_text(value, u, most_decimals) + " ± " + uncertainty_text(u, most_decimals);
}

}  // namespace

TEST_CASE("an uncertainty has two significant digits, and the value has as many decimals") {
  CHECK(value_with_uncertainty(1.10432, 0.00211) == "1.1043 ± 0.0021");
  CHECK(value_with_uncertainty(-0.5, 0.3) == "-0.50 ± 0.30");
  CHECK(value_with_uncertainty(12.3, 4.0) == "12.3 ± 4.0");
  CHECK(value_with_uncertainty(123.4, 25.0) == "123 ± 25");
  CHECK(value_with_uncertainty(12345, 678) == "12350 ± 680");
}

TEST_CASE("rounding that adds a digit to the uncertainty takes one from the decimals") {
  CHECK(value_with_uncertainty(1.0, 0.0996) == "1.00 ± 0.10");
  CHECK(value_with_uncertainty(1.0, 9.96) == "1 ± 10");
}

TEST_CASE("zero has a plus sign, and an absent number is shown as n/a") {
  CHECK(value_with_uncertainty(-0.0001, 0.01) == "0.000 ± 0.010");
  CHECK(value_with_uncertainty(1.5, 0) == "1.500 ± 0.000");
  CHECK(value_with_uncertainty(std::numeric_limits<double>::quiet_NaN(), 0.1) == "n/a ± 0.10");
  CHECK(both(1.0, 0.1) == "+1.00 ± 0.10");
  CHECK(both(-1.0, 0.1) == "-1.00 ± 0.10");
  CHECK(degrees_text(-0.001, 2) == "+0.00°");
  CHECK(interval_text({-0.5, 1.25}, 0.1) == "-0.50° to +1.25°");
  CHECK(decibels_text(-33.36) == "-33.4 dB");
  CHECK(decibels_text(std::nullopt) == "n/a");
  CHECK(number_text(0.25, 1, true) == "+0.2");
  CHECK(number_text(std::nullopt, 1, true) == "n/a");
}

TEST_CASE("an azimuth to set by hand has at most three decimals, and a positive uncertainty is never rounded to zero") {
  CHECK(both(1.12231, 0.00904, kHandDecimals) == "+1.122 ± 0.009");
  CHECK(both(1.12231, 0.0000123, kHandDecimals) == "+1.122 ± 0.001");
  CHECK(both(1.12231, 0.0904, kHandDecimals) == "+1.122 ± 0.090");
  CHECK(both(1.1, 0, kHandDecimals) == "+1.100 ± 0.000");
  CHECK(signed_text(1.12231, 0.0211) == "+1.122");
  CHECK(signed_text(1.12231, 0.211) == "+1.12");
  CHECK(uncertainty_text(0.0211) == "0.021");
  CHECK(uncertainty_text(0.0000123, kHandDecimals) == "0.001");
  CHECK(interval_text({1.10459, 1.14003}, 0.00904, kHandDecimals) == "+1.105° to +1.140°");
  CHECK(interval_text({-12, 34}, 12, kHandDecimals) == "-12° to +34°");
}
