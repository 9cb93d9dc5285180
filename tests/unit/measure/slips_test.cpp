// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/slips.hpp"

#include "evenwall/measure.hpp"
#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

bool slipped(MemorySource source) {
  const Measurement measured = measure(source, {});
  return std::any_of(measured.warnings.begin(), measured.warnings.end(),
                     [](const Warning& w) { return w.code == WarningCode::kChannelsSlipped; });
}

/// A left-only band, a right-only band and a lateral one, in noise.
Canvas bands(double rate_hz) {
  const Complex leak = std::polar(0.03, 1.0);
  Canvas canvas(rate_hz, 14);
  canvas.tone(0.5, 4, 1000, 0.2, 0.2 * leak).tone(5, 4, 1000, 0.16 * std::conj(leak), Complex(0.2, 0.1)).tone(9.5, 4, 1000, 0.2, 0.19);
  return canvas.noise(1e-3, 4);
}

MemorySource without(Canvas canvas, double at_s, std::size_t channel) {
  canvas.samples.erase(canvas.samples.begin() + 2 * static_cast<std::ptrdiff_t>(at_s * canvas.rate_hz) +
                       static_cast<std::ptrdiff_t>(channel));
  canvas.samples.push_back(0);
  return canvas.source();
}

}  // namespace

TEST_CASE("A sample lost in one channel within a passage is found at every rate") {
  for (const double rate_hz : {8000.0, 48000.0, 96000.0}) {
    CAPTURE(rate_hz);
    CHECK_FALSE(slipped(bands(rate_hz).source()));
    for (const double at_s : {2.2, 7.1, 11.3}) {
      CAPTURE(at_s);
      CHECK(slipped(without(bands(rate_hz), at_s, 0)));
      CHECK(slipped(without(bands(rate_hz), at_s, 1)));
    }
  }
}

TEST_CASE("Bands without a gap between them and whole lost frames are not taken for slips") {
  Canvas close(48000, 9);
  close.tone(0.5, 4, 1000, 0.2, Complex(0.006, 0.002)).tone(4.5, 4, 1000, Complex(-0.004, 0.003), 0.2).noise(1e-3, 5);
  CHECK_FALSE(slipped(close.source()));
  Canvas whole = bands(48000);
  const auto at = whole.samples.begin() + 2 * static_cast<std::ptrdiff_t>(2.2 * 48000);
  whole.samples.erase(at, at + 2 * 7);
  CHECK_FALSE(slipped(whole.source()));
}

TEST_CASE("Bands of one oscillator without a gap between them are not taken for a slip") {
  for (const double rate_hz : {8000.0, 44100.0, 96000.0}) {
    for (const double tone_hz : {440.0, 1000.0}) {
      CAPTURE(rate_hz, tone_hz);
      // The bands last whole periods, so that the phase continues. The walls' crosstalk differs, as it does away from equal crosstalk.
      Canvas canvas(rate_hz, 12);
      canvas.tone(0.5, 5, tone_hz, 0.2, std::polar(0.006, 1.0)).tone(5.5, 5, tone_hz, std::polar(0.006, -2.0), 0.2);
      CHECK_FALSE(slipped(canvas.noise(1e-3, 4).source()));
    }
  }
}
