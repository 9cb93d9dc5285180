// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/inner_frames.hpp"

#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

LockInFrames frames_of(const Canvas& canvas, double frequency_hz) {
  LockIn lock_in(canvas.rate_hz, frequency_hz, 0);
  const std::size_t hop = lock_in.hop_frames();
  for (std::size_t h = 0; 2 * (h + 1) * hop <= canvas.samples.size(); ++h) lock_in.add_hop(canvas.samples.data() + 2 * h * hop);
  return lock_in.frames();
}

const ToneStretch kLeftStretch{Driven::kLeft, 0.06, 2.06, 1000};

}  // namespace

TEST_CASE("Edges lie where the tone begins and ends") {
  const auto inner = inner_frames(frames_of(Canvas(48000, 2.12).tone(0.06, 2, 1000, 0.2, 0.002).noise(1e-4, 1), 1000), kLeftStretch);
  REQUIRE(inner);
  CHECK_THAT(inner->start_s, WithinAbs(0.06, 0.012));  // half a frame
  CHECK_THAT(inner->end_s, WithinAbs(2.06, 0.012));
  CHECK_THAT(inner->amplitude, WithinRel(0.2, 0.001));
  CHECK(inner->lost_fraction == 0);
  for (const Complex& z : inner->driven) CHECK_THAT(std::abs(z), WithinRel(0.2, 0.01));  // no frame reaches past an edge
}

TEST_CASE("The frames of a dropout are excluded and counted") {
  Canvas canvas(48000, 2.12);
  canvas.tone(0.06, 2, 1000, 0.2, 0.002).noise(1e-4, 1);
  for (std::size_t n = 48000; n < 48000 + 4800; ++n) canvas.samples[2 * n] = canvas.samples[2 * n + 1] = 0;
  const auto inner = inner_frames(frames_of(canvas, 1000), kLeftStretch);
  REQUIRE(inner);
  CHECK_THAT(inner->end_s, WithinAbs(2.06, 0.012));
  CHECK_THAT(inner->lost_fraction, WithinAbs(0.05, 0.01));  // 0.1 s of 2 s; its two edges lie at half of the level
}

TEST_CASE("A passage ends when a band of the other channel follows at once") {
  const auto inner = inner_frames(
      frames_of(Canvas(48000, 2.12).tone(0.06, 2, 1000, 0.2, 0.002).tone(2.06, 0.06, 1000, 0.002, 0.2).noise(1e-4, 1), 1000), kLeftStretch);
  REQUIRE(inner);
  CHECK_THAT(inner->end_s, WithinAbs(2.06, 0.03));
}

TEST_CASE("If the tone is too short or absent, there are no inner frames") {
  CHECK_FALSE(inner_frames(frames_of(Canvas(48000, 0.3).tone(0.1, 0.1, 1000, 0.2, 0.002).noise(1e-4, 1), 1000), kLeftStretch));
  CHECK_FALSE(inner_frames(frames_of(Canvas(48000, 2.12), 1000), kLeftStretch));
  CHECK_FALSE(inner_frames(frames_of(Canvas(48000, 0.1), 1000), kLeftStretch));
}
