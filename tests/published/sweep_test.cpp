// SPDX-License-Identifier: GPL-3.0-or-later
// Checks the exponential sweep. Sources: A. Farina, AES 108th Convention, 2000, preprint 5093 (from memory); A. Novak, P. Lotton, L. Simon,
// J. Audio Eng. Soc. 63(10), 2015, with the sweep sin(2π f1 L exp(t/L)) that keeps its harmonics in step (seen in excerpts; the spectrum's
// formula from memory, recomputed by a Fourier sum: ratio 1.0000, angle 0.0000 rad). L = T/ln(f2/f1).
#include <cmath>
#include <complex>
#include <numbers>

#include "evenwall/simulate.hpp"
#include "measure/sweep_track.hpp"
#include "numeric/fft.hpp"
#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;
using namespace evenwall::internal::numeric;

namespace {

constexpr double kRate_hz = 48000;
// f1·L = 29 whole periods meets Novak's condition and gives 20 Hz to 20 kHz in 10.016 s.
constexpr double kFrom_hz = 20;
constexpr double kLength_s = 1.45;

SweepLaw law() { return {true, 0, kFrom_hz, 1 / kLength_s}; }

/// ∫ x(t) exp(−j2πft) dt of the left channel at the transform's bins.
std::vector<Complex> spectrum_of(const std::vector<float>& interleaved) {
  StereoSpectrum transform(std::vector<double>(interleaved.size() / 2, 1.0));
  std::vector<Complex> bins = transform.transform(interleaved.data()).left;
  for (Complex& x : bins) x /= kRate_hz;
  return bins;
}

/// Novak's spectrum of the sweep sin(2π f1 L exp(t/L)).
Complex novak(double f) {
  return 0.5 * std::sqrt(kLength_s / f) *
         std::polar(1.0, std::remainder(kTwoPi * f * kLength_s * (1 - std::log(f / kFrom_hz)) - std::numbers::pi / 4, kTwoPi));
}

constexpr std::size_t kFrames = 1 << 19;  // 10.9 s

}  // namespace

TEST_CASE("The sweep law has the rate, the group delay and the lead of the harmonics of Farina and Novak") {
  // 20 Hz to 20 kHz in 10 s: L, octaves per second, df/dt at 1 kHz, the time of passing 1 kHz, and the lead of the harmonics. The values
  // are printed to 15 digits.
  const double length_s = 10 / std::log(1000.0);
  const SweepLaw ten{true, 0, 20, 1 / length_s};
  CHECK_THAT(length_s, WithinRel(1.4476482730108395, 1e-14));
  CHECK_THAT(ten.rate / std::numbers::ln2, WithinRel(0.9965784284662087, 1e-14));
  CHECK_THAT(ten.time_s(1000), WithinRel(5.66323334778673, 1e-13));
  CHECK_THAT(ten.frequency_hz(5), WithinRel(632.4555320336759, 1e-13));
  CHECK_THAT((ten.frequency_hz(ten.time_s(1000) + 1e-4) - ten.frequency_hz(ten.time_s(1000) - 1e-4)) / 2e-4,
             WithinRel(690.7755278982137, 1e-8));  // a difference of 1e-4 of L each way: its third term is 1e-9
  CHECK_THAT(ten.time_s(2000) - ten.time_s(1000), WithinRel(1.0034333188799374, 1e-12));
  CHECK_THAT(ten.time_s(3000) - ten.time_s(1000), WithinRel(1.5904041823988748, 1e-12));
  // Periods since the start are the phase integral f1·L·(exp(t/L) − 1). With L = 1.45 s and 20 Hz, f1·L is a whole number of periods (29).
  CHECK_THAT(law().cycles(kLength_s), WithinRel(29 * (std::numbers::e - 1), 1e-14));
}

TEST_CASE("The oscillator that follows a sweep has Novak's spectrum and group delay") {
  std::vector<float> samples(2 * kFrames);
  for (std::size_t n = 0; n < kFrames; ++n) {
    const double t = static_cast<double>(n) / kRate_hz;
    const double cycles = law().cycles(t);
    if (law().frequency_hz(t) < 20000) samples[2 * n] = static_cast<float>(std::sin(kTwoPi * (cycles - std::floor(cycles))));
  }
  const auto bins = spectrum_of(samples);
  const double bin_hz = kRate_hz / kFrames;
  for (const double about_hz : {200.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0}) {
    // Ripples of the abrupt ends are proportional to 1/f and vanish in a mean over 5 %. Float samples and the formula's own ends leave
    // 1e-3.
    Complex mean = 0, turn = 0;
    double n = 0;
    for (auto k = static_cast<std::size_t>(0.975 * about_hz / bin_hz); static_cast<double>(k) * bin_hz < 1.025 * about_hz; ++k, ++n) {
      const double f = static_cast<double>(k) * bin_hz;
      mean += bins[k] / novak(f);
      turn += bins[k + 1] * std::conj(bins[k]);
    }
    INFO(about_hz << " Hz");
    CHECK(std::abs(mean / n - 1.0) < 2e-3);
    // Minus the slope of the phase is the time at which the law passes that frequency. Its mean over 5 % equals that at the middle to
    // 1e-4 of L.
    const double delay_s = -std::arg(turn * std::polar(1.0, kTwoPi * bin_hz * law().time_s(about_hz))) / (kTwoPi * bin_hz);
    CHECK_THAT(delay_s, WithinAbs(0, 1e-3));
  }
}

TEST_CASE("The sweep of the simulator has Novak's spectrum and group delay") {
  Scenario scenario;
  scenario.bits = 32;
  SimulatedBand band;
  band.band = Band::kLeft;
  band.signal = SimulatedSignal::kLogSweep;
  band.frequency_hz = kFrom_hz;
  band.frequency_to_hz = 20000;
  band.duration_s = kLength_s * std::log(1000.0);
  band.level_dbfs = -6;
  scenario.record.bands = {band};
  scenario.steps = {{}};
  const SimulatedSession session(scenario, 1);
  const auto capture = session.capture(0);
  std::vector<float> samples(2 * kFrames);
  capture->read(0, capture->frames(), samples.data());
  const auto bins = spectrum_of(samples);
  const double bin_hz = kRate_hz / kFrames;
  const double level = std::pow(10.0, -6.0 / 20);
  OptionalNumber start_s;
  for (const double about_hz : {200.0, 1000.0, 8000.0}) {
    Complex turn = 0;
    double power = 0, expected = 0;
    for (auto k = static_cast<std::size_t>(0.975 * about_hz / bin_hz); static_cast<double>(k) * bin_hz < 1.025 * about_hz; ++k) {
      const double f = static_cast<double>(k) * bin_hz;
      power += std::norm(bins[k]);
      expected += std::norm(level * novak(f));
      turn += bins[k + 1] / novak(f + bin_hz) * std::conj(bins[k] / novak(f));
    }
    INFO(about_hz << " Hz");
    CHECK_THAT(power / expected, WithinAbs(1, 4e-3));  // twice the amplitude's 2e-3
    // The start time of the recorder, 0.3 s at most, and the phase then are random. From there on the group delay is Novak's.
    const double delay_s = -std::arg(turn) / (kTwoPi * bin_hz);
    if (!start_s) start_s = delay_s;
    CHECK_THAT(delay_s, WithinAbs(*start_s, 1e-3));
    CHECK_THAT(delay_s, WithinAbs(0.15, 0.15));
  }
}

TEST_CASE("In Novak's sweep with harmonics, only the fundamental is followed, with its amplitude and phase") {
  // Harmonic n has n times the phase of the fundamental: it is in step, L·ln n ahead.
  const Complex left(0.2, 0.05), right(-0.004, 0.002);
  std::vector<float> samples(2 * kFrames);
  for (std::size_t n = 0; n < kFrames; ++n) {
    const double t = static_cast<double>(n) / kRate_hz;
    if (law().frequency_hz(t) > 20000) break;
    const double cycles = kFrom_hz * kLength_s * std::exp(t / kLength_s);
    const Complex turn = std::polar(1.0, kTwoPi * (cycles - std::floor(cycles)));
    const double harmonics = law().frequency_hz(t) < 6000 ? 0.02 * (turn * turn).real() + 0.01 * (turn * turn * turn).real() : 0.0;
    samples[2 * n] = static_cast<float>((left * turn).real() + harmonics);
    samples[2 * n + 1] = static_cast<float>((right * turn).real() + 0.1 * harmonics);
  }
  MemorySource source(std::move(samples), kRate_hz);
  const Track track = follow(source, law(), 0, 10);
  for (const TrackFrame& frame : track.frames) {
    if (frame.frequency_hz < 60 || frame.frequency_hz > 16000 || std::abs(frame.frequency_hz - 6000) < 100) continue;
    INFO(frame.frequency_hz << " Hz");
    // A Hann window spans eight periods. Its sidelobes beyond the eighth line are 1e-4 or less of a harmonic and of the mirror image.
    CHECK(std::abs(frame.left - left) < 2e-4 * std::abs(left));
    CHECK(std::abs(frame.right - right) < 2e-4 * std::abs(left));
  }
  CHECK(track.frames.size() > 1000);
}
