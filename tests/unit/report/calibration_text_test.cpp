// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/report.hpp"
#include "report/page.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("the text of a calibration shows level and phase in both directions with their uncertainties") {
  // u is 1 % of the crosstalk: 8.686 dB · 1 % = 0.087 dB, and 0.573°.
  const Calibration c{{{1000, {1, Complex(0, 0.01), Complex(-0.02, 0), 1}, {1e-4, 2e-4}}}};
  const std::string text = calibration_text(c, false);
  CAPTURE(text);
  CHECK(holds(text, "1000.0 Hz"));
  CHECK(holds(text, "-40.000 dB  0.087 dB"));
  CHECK(holds(text, "+90.00°  0.57°  right into left"));
  CHECK(holds(text, "-33.979 dB  0.087 dB"));  // 20 log10 0.02
  CHECK(holds(text, "+180.00°  0.57°  left into right"));
  CHECK_FALSE(holds(text, "Warnings"));
}

TEST_CASE("crosstalk within its uncertainty is shown as an upper bound, and no crosstalk as zero") {
  const Calibration c{{{1000, {1, 1e-5, 0, 1}, {1e-5, 0}}}};
  const std::string text = calibration_text(c, false);
  CAPTURE(text);
  CHECK(holds(text, "below -90.5 dB"));  // 20 log10 3e-5
  CHECK(holds(text, "zero"));
}

TEST_CASE("a very small uncertainty is shown as an upper bound, and the line fits the page") {
  const Calibration c{{{20000, {1, Complex(0, 0.01), Complex(0, -0.01), 1}, {1e-12, 0}}}};
  const std::string text = calibration_text(c, false);
  CAPTURE(text);
  CHECK(holds(text, "20000.0 Hz  -40.000 dB  <0.001 dB  +90.00°  <0.01°  right into left"));
}

TEST_CASE("warnings follow, and no line is too long or acts on the terminal") {
  Calibration c{{{1000, {1, 0.01, 0.01, 1}, {1e-4, 1e-4}}}};
  c.warnings = {{WarningCode::kMissingPassage,
                 "no right-only passage at 315.0 Hz was found. The tone is excluded from the calibration \x1b[31m, and that line is long"}};
  const std::string text = calibration_text(c, false);
  CHECK(holds(text, "missing_passage: no right-only passage at 315.0 Hz"));
  CHECK_FALSE(holds(text, "\x1b"));
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = text.find('\n', at);
    CHECK(display_columns(text.substr(at, end - at)) <= kPageColumns);
    at = end + 1;
  }
  CHECK(holds(calibration_text(c, true), "\x1b["));
}
