// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/separation.hpp"

#include "evenwall/measure.hpp"
#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

/// The crosstalk measured from a left-only and a right-only band with outputs that are mixed by a real matrix.
LeakPair measured(double right_into_left, double left_into_right, Warnings* warnings = nullptr) {
  Canvas canvas(48000, 12);
  canvas.tone(1, 4, 1000, 0.2, 0.2 * left_into_right).tone(7, 4, 1000, 0.15 * right_into_left, 0.15).noise(1e-4, 5);
  auto source = canvas.source();
  const Measurement measured = measure(source, {});
  if (warnings) *warnings = measured.warnings;
  return measured.crosstalk;
}

}  // namespace

TEST_CASE("The warning distinguishes partly mono outputs from a tilted cartridge, and states what to do in each case") {
  // A share of 0.3 of the other channel is −10.5 dB. A tilt of 16.7° adds it to one channel and subtracts it from the other.
  const Warnings fold = separation_warnings(measured(0.3, 0.3));
  REQUIRE(fold.size() == 1);
  CHECK(fold[0].code == WarningCode::kLowSeparation);
  CHECK_THAT(fold[0].message, ContainsSubstring("10.5 dB") && ContainsSubstring("mono switch"));
  const Warnings lean = separation_warnings(measured(0.3, -0.3));
  REQUIRE(lean.size() == 1);
  CHECK(lean[0].code == WarningCode::kLowSeparation);
  CHECK_THAT(lean[0].message, ContainsSubstring("azimuth error of 17°") && !ContainsSubstring("mono"));
}

TEST_CASE("A separation of 15 dB or more gives no warning") {
  CHECK(separation_warnings(measured(0.02, -0.02)).empty());
  CHECK(separation_warnings(measured(0.17, -0.17)).empty());      // 15.4 dB
  CHECK(separation_warnings(measured(0.19, -0.19)).size() == 1);  // 14.4 dB
  CHECK(separation_warnings({}).empty());
}

TEST_CASE("If only one side was measured, the warning asks for both bands") {
  LeakPair pair = measured(0.3, 0.3);
  pair.left_into_right.reset();
  const Warnings one = separation_warnings(pair);
  REQUIRE(one.size() == 1);
  CHECK_THAT(one[0].message, ContainsSubstring("Capture both bands"));
}

TEST_CASE("A reading contains the warning, and a recording that is nearly mono is refused with an instruction") {
  Warnings warnings;
  measured(0.3, 0.3, &warnings);
  CHECK(std::any_of(warnings.begin(), warnings.end(), [](const Warning& w) { return w.code == WarningCode::kLowSeparation; }));
  measured(0.02, -0.02, &warnings);
  CHECK(warnings.empty());
  CHECK_THROWS_WITH(measured(0.9, 0.9), ContainsSubstring("stereo"));
}
