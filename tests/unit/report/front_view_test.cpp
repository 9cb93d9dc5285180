// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/front_view.hpp"

#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("The front view has a picture for each side, and no picture if no side can be named") {
  const Shim clockwise{0, 1.1, 0.24, Side::kSpindleSide, Side::kOuterSide};
  const Shim anticlockwise{0, -1.1, 0.24, Side::kOuterSide, Side::kSpindleSide};
  const std::string one = front_view(clockwise), other = front_view(anticlockwise);
  CHECK(one.starts_with("<svg"));
  CHECK(one != other);
  CHECK(holds(one, "</svg>"));
  CHECK(front_view({0, 1.1, 0.24, std::nullopt, std::nullopt}).empty());
  CHECK(front_view({0, 0, 0, std::nullopt, std::nullopt}).empty());
}
