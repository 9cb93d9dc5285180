// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/a_weighting.hpp"

#include <utility>

#include "support/catch.hpp"

using namespace evenwall::internal::numeric;

TEST_CASE("The A-weighting equals the table of IEC 61672-1 at third octaves from 20 Hz to 20 kHz") {
  // IEC 61672-1:2013, table 3, from memory; rounded to 0.1 dB there, for the exact base-ten centres.
  for (const auto& [n, db] : {std::pair(13, -50.5), std::pair(15, -39.4), std::pair(18, -26.2), std::pair(20, -19.1), std::pair(21, -16.1),
                              std::pair(24, -8.6), std::pair(27, -3.2), std::pair(30, 0.0), std::pair(33, 1.2), std::pair(34, 1.3),
                              std::pair(36, 1.0), std::pair(39, -1.1), std::pair(42, -6.6), std::pair(43, -9.3)}) {
    INFO("band " << n);
    CHECK_THAT(a_weighting_db(std::pow(10.0, n / 10.0)), WithinAbs(db, 0.051));
  }
}
