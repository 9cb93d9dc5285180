#include "evenwall/report.hpp"
#include "support/catch.hpp"

using namespace evenwall;

TEST_CASE("names are those of the JSON documents") {
  CHECK(name_of(Basis::kEqualCrosstalk) == "equal_crosstalk");
  CHECK(name_of(Basis::kLeastCrosstalk) == "least_crosstalk");
  CHECK(name_of(Side::kSpindleSide) == "spindle_side");
  CHECK(name_of(Side::kOuterSide) == "outer_side");
}
