// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/heard_tones.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

Measurement with_tones(std::initializer_list<double> tones, Driven driven = Driven::kLeft) {
  Measurement measured;
  for (const double hz : tones) {
    Passage p;
    p.driven = driven;
    p.frequency_hz = hz;
    measured.passages.push_back(p);
  }
  return measured;
}

}  // namespace

TEST_CASE("A recording at a wrong speed is reported with the tone that it has, and with the cause") {
  CHECK(missing_pair(with_tones({1352.3, 1352.9}), 1002) ==
        "it has no pair of left-only and right-only passages at 1002.0 Hz; it has 1352.3 Hz. 1352.3 Hz matches if a 33 1/3 rpm record was "
        "played at 45 rpm. Capture both bands again.");
  CHECK(missing_pair(with_tones({315, 6300}), 1000) ==
        "it has no pair of left-only and right-only passages at 1000.0 Hz; it has 315.0 Hz, 6300.0 Hz. Capture both bands.");
}

TEST_CASE("A recording with the tone on one side only, or without any tone, is reported without a list") {
  const char* expected = "it has no pair of left-only and right-only passages at 1000.0 Hz. Capture both bands.";
  CHECK(missing_pair(with_tones({315, 1001}), 1000) == expected);
  CHECK(missing_pair({}, 1000) == expected);
  CHECK(missing_pair(with_tones({1350}, Driven::kBoth), 1000) == expected);
}

TEST_CASE("At most six tones are listed") {
  CHECK(missing_pair(with_tones({100, 200, 300, 400, 501, 600, 700, 800}), 10000).find("600.0 Hz and more. Capture") != std::string::npos);
}
