// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/tone_shift.hpp"

#include "support/catch.hpp"

using namespace evenwall::internal::base;

TEST_CASE("A tone that is shifted by a known factor has a cause, within 3 %") {
  CHECK(cause_of_shift(1.352) == "a 33 1/3 rpm record was played at 45 rpm");
  CHECK(cause_of_shift(0.741) == "a 45 rpm record was played at 33 1/3 rpm");
  CHECK(cause_of_shift(2.01) == "the sample rate in the header is twice the true one");
  CHECK(cause_of_shift(0.5) == "the sample rate in the header is half the true one");
  CHECK(cause_of_shift(48.0 / 44.1).find("48 kHz for audio recorded at 44.1 kHz") != std::string_view::npos);
  CHECK(cause_of_shift(44.1 / 48.0).find("44.1 kHz for audio recorded at 48 kHz") != std::string_view::npos);
}

TEST_CASE("Any other factor has no cause") {
  for (const double factor : {0.0, 1.0, 1.2, 1.45, 3.0, -2.0, 1e300}) {
    INFO(factor);
    CHECK(cause_of_shift(factor).empty());
  }
}
