// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/tone_spectrum.hpp"

#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

ToneSpectrum heard(const Canvas& canvas, double f, Driven driven) {
  ToneSpectrum spectrum(canvas.rate_hz, f, driven);
  for (std::size_t at = 0; at + spectrum.frame_size() <= canvas.samples.size() / 2; at += spectrum.frame_size()) {
    spectrum.add_frame(canvas.samples.data() + 2 * at);
  }
  return spectrum;
}

}  // namespace

TEST_CASE("Distortion is the root sum of squares of the harmonics, divided by the fundamental") {
  Canvas canvas(48000, 4);
  canvas.tone(0, 4, 1000, 0.2, 0).tone(0, 4, 2000, 0.2 * 0.015, 0).tone(0, 4, 3000, 0.2 * 0.02, 0);
  CHECK_THAT(*heard(canvas, 1000, Driven::kLeft).distortion_percent(), WithinAbs(2.5, 0.01));
  CHECK_FALSE(heard(canvas, 9000, Driven::kLeft).distortion_percent());  // the third harmonic lies above the audio band
}

TEST_CASE("The signal-to-noise ratio is tone power over noise power, without the harmonics") {
  Canvas canvas(48000, 8);
  canvas.tone(0, 8, 1000, 0.0, 0.2).tone(0, 8, 2000, 0, 0.01).noise(0.002, 3);
  const double expected = decibels(0.2 / std::sqrt(2.0) / 0.002);
  CHECK_THAT(*heard(canvas, 1000, Driven::kRight).snr_db(), WithinAbs(expected, 0.3));
}

TEST_CASE("A third-octave meter reads the crosstalk together with the noise in its band") {
  Canvas canvas(48000, 8);
  canvas.tone(0, 8, 1000, 0.2, 0.002);
  CHECK_THAT(*heard(canvas, 1000, Driven::kLeft).band_db(), WithinAbs(-40, 0.01));
  // White noise of 0.01 rms has 0.01·√(231/24000) in the band from 891 to 1122 Hz (IEC 61260-1:2014, from memory), as much as a sine of
  // 1.39e-3 peak.
  canvas.noise(0.01, 4);
  const double quiet_rms = std::hypot(0.002 / std::sqrt(2.0), 0.01 * std::sqrt(231.0 / 24000));
  CHECK_THAT(*heard(canvas, 1000, Driven::kLeft).band_db(), WithinAbs(decibels(quiet_rms / (0.2 / std::sqrt(2.0))), 0.5));
  CHECK_FALSE(heard(canvas, 1000, Driven::kBoth).band_db());
}

TEST_CASE("Frames with samples that are not numbers are excluded, and if no frame remains, there is no result") {
  Canvas canvas(48000, 1);
  canvas.tone(0, 1, 1000, 0.2, 0.01);
  for (std::size_t i = 0; i < canvas.samples.size(); i += 1000) canvas.samples[i] = std::nanf("");
  const ToneSpectrum spectrum = heard(canvas, 1000, Driven::kLeft);
  CHECK_FALSE(spectrum.snr_db());
  CHECK_FALSE(spectrum.distortion_percent());
  CHECK_FALSE(spectrum.band_db());
}

TEST_CASE("The third harmonic is measured alone, and noise does not count as one") {
  Canvas canvas(48000, 4);
  canvas.tone(0, 4, 1000, 0.2, 0).tone(0, 4, 2000, 0.2 * 0.015, 0).tone(0, 4, 3000, 0.2 * 0.01, 0);
  CHECK_THAT(*heard(canvas, 1000, Driven::kLeft).third_harmonic_percent(), WithinAbs(1.0, 0.01));
  CHECK_FALSE(heard(canvas, 9000, Driven::kLeft).third_harmonic_percent());
  for (const double rate_hz : {8000.0, 48000.0}) {
    INFO(rate_hz << " Hz");
    Canvas noisy(rate_hz, 20);
    noisy.tone(0, 20, 1000, 0.2, 0).noise(0.0141, 5);  // 20 dB below the tone
    const auto noise_alone = heard(noisy, 1000, Driven::kLeft).third_harmonic_percent();
    REQUIRE(noise_alone);
    CHECK(*noise_alone < 0.5);  // 0.5 % and 1.5 % if the noise counts
  }
  Canvas low(48000, 4);  // noise is measured midway to the next harmonic if that is near
  low.tone(0, 4, 100, 0.2, 0).tone(0, 4, 200, 0.002, 0).tone(0, 4, 300, 0.002, 0).tone(0, 4, 400, 0.002, 0);
  CHECK_THAT(*heard(low, 100, Driven::kLeft).third_harmonic_percent(), WithinAbs(1.0, 0.1));
}
