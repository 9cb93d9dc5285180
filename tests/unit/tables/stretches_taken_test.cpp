// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/stretches_taken.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::tables;

namespace {

LogEntry entry(const char* capture, double tilt_deg, OptionalNumber from_s, OptionalNumber to_s) {
  return {.capture = capture, .tilt_deg = tilt_deg, .from_s = from_s, .to_s = to_s};
}

}  // namespace

TEST_CASE("Stretches of one capture may touch, but they must not overlap") {
  StretchesTaken taken;
  CHECK_FALSE(taken.take(entry("a.wav", -1, 10.0, 20.0), 2));
  CHECK_FALSE(taken.take(entry("a.wav", 0, 20.0, 30.0), 3));
  CHECK_FALSE(taken.take(entry("b.wav", 1, std::nullopt, std::nullopt), 4));
  CHECK(taken.take(entry("./a.wav", 1, 5.0, 10.5), 5) == 2);
  CHECK(taken.take(entry("a.wav", 1, 19.5, 40.0), 6) == 3);
  CHECK(taken.take(entry("a.wav", 1, std::nullopt, std::nullopt), 7) == 2);
  CHECK(taken.take(entry("b.wav", 1, 3.0, 4.0), 8) == 4);
}

TEST_CASE("A stretch may be repeated at the same tilt, but not at another tilt") {
  StretchesTaken taken;
  CHECK_FALSE(taken.take(entry("a.wav", -1, 10.0, 20.0), 2));
  CHECK_FALSE(taken.take(entry("a.wav", -1, 10.0, 20.0), 3));
  CHECK(taken.take(entry("a.wav", -1, 10.0, 19.0), 4) == 2);
  CHECK(taken.take(entry("a.wav", 1, 10.0, 20.0), 5) == 2);
}
