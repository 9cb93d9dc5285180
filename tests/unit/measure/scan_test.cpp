#include "measure/scan.hpp"

#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;

TEST_CASE("A tone's frequency, amplitudes and share of the power are read from each frame") {
  for (const double rate : {44100.0, 96000.0}) {
    for (const double f : {315.0, 1003.7, 3150.0}) {
      auto source = Canvas(rate, 2).tone(0, 2, f, 0.25, 0.01).source();
      const Scan s = scan(source, {}, {});
      REQUIRE(s.frames.size() > 35);
      INFO(rate << " " << f);
      for (const ScanFrame& frame : s.frames) {
        CHECK_THAT(frame.frequency_hz, WithinAbs(f, 1.0));
        CHECK_THAT(frame.amplitude_left, WithinRel(0.25, 0.01));
        CHECK_THAT(frame.amplitude_right, WithinRel(0.01, 0.01));
        CHECK(frame.tonal_fraction > 0.99);
      }
    }
  }
}

TEST_CASE("Noise has no tone in it") {
  auto source = Canvas(48000, 2).noise(0.1, 1).source();
  for (const ScanFrame& frame : scan(source, {}, {}).frames) CHECK(frame.tonal_fraction < 0.2);
}

TEST_CASE("Only the stretch asked for is looked at") {
  auto source = Canvas(48000, 4).tone(0, 2, 1000, 0.25, 0.01).source();
  const Scan late = scan(source, 2.1, 3.5);
  CHECK(late.largest_sample == 0);
  CHECK(late.frames.front().middle_s > 2.1);
  CHECK(late.frames.back().middle_s < 3.5);
  CHECK(scan(source, 100.0, {}).frames.empty());
}

TEST_CASE("Identical channels and samples that are no numbers are noted") {
  auto dual = Canvas(48000, 1).tone(0, 1, 1000, 0.2, 0.2).source();
  CHECK(scan(dual, {}, {}).channels_identical);
  auto stereo = Canvas(48000, 1).tone(0, 1, 1000, 0.2, 0.1).source();
  CHECK_FALSE(scan(stereo, {}, {}).channels_identical);
  stereo.samples()[500] = std::nanf("");
  const Scan s = scan(stereo, {}, {});
  CHECK(s.samples_not_finite >= 1);
  CHECK_THAT(s.largest_sample, WithinAbs(0.2, 1e-4));
}

TEST_CASE("A tone is heard beneath crackle, and without clicks no frame changes") {
  Canvas canvas(48000, 3);
  canvas.tone(0, 3, 1000, 0.05, 0.001).noise(1e-4, 8);
  auto quiet = canvas.source();
  const Scan before = scan(quiet, {}, {});
  rig::Draw draw(11);
  for (int click = 0; click < 150; ++click) {  // 50 a second, half a millisecond, 20 dB over the tone's peak
    const auto at = static_cast<std::size_t>(draw.uniform(0, 3 * 48000 - 30));
    for (std::size_t n = 0; n < 24; ++n) canvas.samples[2 * (at + n)] += static_cast<float>(0.5 * draw.normal());
  }
  auto crackling = canvas.source();
  const Scan after = scan(crackling, {}, {});
  REQUIRE(after.frames.size() == before.frames.size());
  std::size_t heard = 0;
  for (const ScanFrame& frame : after.frames) heard += frame.tonal_fraction >= 0.5 && std::abs(frame.frequency_hz - 1000) < 15;
  CHECK(heard > after.frames.size() * 9 / 10);
  for (const ScanFrame& frame : before.frames) CHECK(frame.tonal_fraction > 0.99);
}
