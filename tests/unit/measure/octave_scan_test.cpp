#include "measure/octave_scan.hpp"

#include <algorithm>

#include "measure/scan.hpp"
#include "support/catch.hpp"
#include "support/noises.hpp"

using namespace evenwall;

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

TEST_CASE("A tone's power lies in its octave, as mean square") {
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

TEST_CASE("Noise fills its octaves by Euler's constant") {
  Canvas canvas(48000, 20);
  draw_noise(canvas, 0, 20, false, 0.1, 0.003, 6);
  double fullness = 0, power = 0;
  const auto frames = octaves_of(canvas).frames;
  for (const OctaveFrame& f : frames) {
    fullness += f.fullness / static_cast<double>(frames.size());
    power += f.left[2] / static_cast<double>(frames.size());
  }
  // The mean logarithm of an exponential variable is −0.5772 below that of its mean; 400 frames of 30 to 480 lines: 0.01, a line's finite
  // number lowers it by 1/(2·20) at the lowest octave.
  CHECK_THAT(fullness, WithinAbs(-0.5772, 0.03));
  // White: 707 of 24000 Hz of its power.
  CHECK_THAT(power, WithinRel(0.01 * 707.1 / 24000, 0.05));
}

TEST_CASE("Blocks keep the medians of their looks, and each look its power to 0.01 dB") {
  Canvas canvas(48000, 6);
  draw_noise(canvas, 0, 6, false, 0.1, 0.003, 6);
  const Looks looks = octaves_of(canvas);
  REQUIRE(looks.kept.looks() == looks.frames.size());
  REQUIRE(looks.kept.blocks().size() == looks.frames.size() / kBlockFrames);
  CHECK(looks.kept.octaves() == kOctaves);
  CHECK_THAT(looks.kept.middle_s(20) - looks.kept.middle_s(0), WithinAbs(1.0, 1e-9));  // a look every 50 ms
  for (std::size_t b = 0; b < looks.kept.blocks().size(); ++b) {
    std::vector<float> left;
    for (std::size_t f = b * kBlockFrames; f < (b + 1) * kBlockFrames; ++f) {
      left.push_back(looks.frames[f].left[3]);
      double power = 0;
      for (const float p : looks.frames[f].right) power += p;
      CHECK_THAT(looks.kept.right_power_db(f), WithinAbs(10 * std::log10(power), 0.0051));
    }
    std::sort(left.begin(), left.end());
    CHECK_THAT(looks.kept.blocks()[b].left_db[3], WithinAbs(10 * std::log10(0.5 * (left[4] + left[5])), 1e-4));
  }
}
