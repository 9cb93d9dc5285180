// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/counted.hpp"

#include <cstdint>

#include "support/catch.hpp"

using namespace evenwall::internal::base;

TEST_CASE("the words have the form of their count") {
  CHECK(counted(1, "recording") == "1 recording");
  CHECK(counted(0, "recording") == "0 recordings");
  CHECK(counted(std::size_t{2}, "recording") == "2 recordings");
  CHECK(counted(std::uint64_t{1}, "more step is flagged", "more steps are flagged") == "1 more step is flagged");
  CHECK(counted(3, "more step is flagged", "more steps are flagged") == "3 more steps are flagged");
}
