// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sweep_track.hpp"

#include "support/catch.hpp"
#include "support/sweeps.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

TEST_CASE("If a sweep follows its law, every frame has its true amplitudes, and harmonics do not enter") {
  const SweepLaw law{true, 5, 800, 0.4};
  Canvas canvas(48000, 11);
  const auto hz = [&](double t) { return law.frequency_hz(t); };
  draw_sweep(canvas, 0, 11, hz, [](double) { return std::pair<Complex, Complex>(0.3, Complex(0, 0.01)); });
  // A second harmonic as loud as a worn record's.
  draw_sweep(
      canvas, 0, 11, [&](double t) { return 2 * hz(t); }, [](double) { return std::pair<Complex, Complex>(0.03, 0.03); });
  auto source = canvas.source();
  const Track track = follow(source, law, 0.2, 10.8);
  REQUIRE(track.frames.size() > 1000);
  for (const TrackFrame& f : track.frames) {
    INFO(f.frequency_hz);
    // Side lobes of a Hann window of eight periods pass a little of the harmonic of 10 %.
    CHECK_THAT(std::abs(f.left), WithinAbs(0.3, 2e-4));
    CHECK(std::abs(f.right / f.left - Complex(0, 0.01 / 0.3)) < 6e-4);
    CHECK(f.beside_power < 1e-5);  // sum of two channels, 40 dB below the harmonic
  }
  for (std::size_t i = 1; i < track.frames.size(); ++i) {
    CHECK_THAT(track.frames[i].middle_s - track.frames[i - 1].middle_s,
               WithinAbs(0.25 * track.frames[i - 1].length_s, 0.1 * track.frames[i].length_s));
  }
}

TEST_CASE("A window spans eight periods at low frequencies, and at high ones it tolerates a deviation of 1.5 % and 30 Hz") {
  CHECK_THAT(track_window_s(40), WithinAbs(0.2, 1e-12));
  CHECK_THAT(track_window_s(16000), WithinAbs(1.0 / 270, 1e-12));
}

TEST_CASE("A sample that is not a number affects only the frames of the track that contain it") {
  const SweepLaw law{true, 2, 800, 0.4};
  Canvas canvas(48000, 4);
  draw_sweep(
      canvas, 0, 4, [&](double t) { return law.frequency_hz(t); }, [](double) { return std::pair<Complex, Complex>(0.3, 0.01); });
  canvas.samples[2 * 96'000] = std::nanf("");
  auto source = canvas.source();
  const Track track = follow(source, law, 0, 4);
  int lost = 0;
  for (const TrackFrame& f : track.frames) lost += f.left == Complex{0, 0} ? 1 : 0;
  CHECK(lost >= 3);
  CHECK(lost <= 5);
  CHECK(track.left.not_finite() == 1);
}
