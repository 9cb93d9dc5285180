// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/octave_scan.hpp"

#include <algorithm>
#include <cmath>

#include "measure/scan.hpp"
#include "support/catch.hpp"
#include "support/noises.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;
using namespace evenwall::internal::numeric;

namespace {

struct Looks {
  std::vector<OctaveFrame> frames;
  OctaveScan kept;
};

Looks octaves_of(const Canvas& canvas) {
  auto source = canvas.source();
  Looks looks;
  scan(source, {}, {}, [&](const ScanFrame& look, const OctaveFrame& frame) {
    looks.frames.push_back(frame);
    looks.kept.add(look.middle_s, frame);
  });
  return looks;
}

}  // namespace

TEST_CASE("The power of a tone appears in its octave, as a mean square") {
  const Canvas canvas = Canvas(48000, 2).tone(0, 2, 1000, 0.2, 0.02);
  LookSpectrum spectrum(hann_window(2048));
  spectrum.transform(canvas.samples.data());
  const OctaveFrame frame = octave_frame(spectrum, 48000.0 / 2048);
  CHECK_THAT(frame.left[2], WithinRel(0.5 * 0.04, 1e-3));  // Hann side lobes outside the octave
  CHECK_THAT(frame.right[2], WithinRel(0.5 * 0.0004, 1e-3));
  CHECK_THAT(frame.shared[2].real(), WithinRel(0.5 * 0.004, 1e-3));
  CHECK(frame.left[4] < 1e-8F);
  CHECK(frame.fullness < -3);
}

TEST_CASE("The fullness of white noise is minus Euler's constant") {
  Canvas canvas(48000, 20);
  draw_noise(canvas, 0, 20, false, 0.1, 0.003, 6);
  double fullness = 0, power = 0;
  const auto frames = octaves_of(canvas).frames;
  for (const OctaveFrame& f : frames) {
    fullness += f.fullness / static_cast<double>(frames.size());
    power += f.left[2] / static_cast<double>(frames.size());
  }
  // The mean logarithm of an exponential variable differs by −0.5772 from that of its mean. 400 frames of 30 to 480 lines determine it to
  // 0.01. The finite number of lines lowers it by 1/(2·20) in the lowest octave.
  CHECK_THAT(fullness, WithinAbs(-0.5772, 0.03));
  // The octave holds 707 of the 24000 Hz of white noise.
  CHECK_THAT(power, WithinRel(0.01 * 707.1 / 24000, 0.05));
}

TEST_CASE("Blocks keep the medians of their frames, and the power of each frame is kept to 0.01 dB") {
  Canvas canvas(48000, 6);
  draw_noise(canvas, 0, 6, false, 0.1, 0.003, 6);
  const Looks looks = octaves_of(canvas);
  REQUIRE(looks.kept.looks() == looks.frames.size());
  REQUIRE(looks.kept.blocks().size() == looks.frames.size() / kOctaveBlockFrames);
  CHECK(looks.kept.octaves() == kOctaves);
  CHECK_THAT(looks.kept.middle_s(20) - looks.kept.middle_s(0), WithinAbs(1.0, 1e-9));  // a look every 50 ms
  for (std::size_t b = 0; b < looks.kept.blocks().size(); ++b) {
    std::vector<float> left;
    for (std::size_t f = b * kOctaveBlockFrames; f < (b + 1) * kOctaveBlockFrames; ++f) {
      left.push_back(looks.frames[f].left[3]);
      double power = 0;
      for (const float p : looks.frames[f].right) power += p;
      CHECK_THAT(looks.kept.right_power_db(f), WithinAbs(10 * std::log10(power), 0.0051));
    }
    std::sort(left.begin(), left.end());
    CHECK_THAT(looks.kept.blocks()[b].left_db[3], WithinAbs(10 * std::log10(0.5 * (left[4] + left[5])), 1e-4));
  }
}

TEST_CASE("The unrest of steady noise follows from the scatter of its lines, and fluctuating noise has twice as much") {
  for (const double rate_hz : {32000.0, 48000.0, 96000.0}) {
    INFO(rate_hz);
    Canvas canvas(rate_hz, 40);
    draw_noise(canvas, 0, 40, false, 0.1, 0.003, 9);
    const auto mean_unrest = [](const Canvas& c) {
      double sum = 0;
      const auto looks = octaves_of(c);
      for (const OctaveBlock& b : looks.kept.blocks())
        sum += static_cast<double>(b.unrest) / static_cast<double>(looks.kept.blocks().size());
      return sum;
    };
    // The median distance of ten values lies 6 % below that of many. 80 blocks of three or four octaves determine it to 2 %.
    CHECK_THAT(mean_unrest(canvas), WithinAbs(0.94, 0.05));
    for (std::size_t i = 0; i < canvas.samples.size(); ++i) {
      canvas.samples[i] *= static_cast<float>(1 + 0.3 * std::sin(2 * 3.14159265 * 3 * static_cast<double>(i / 2) / rate_hz));
    }
    CHECK(mean_unrest(canvas) > 2);
  }
}
