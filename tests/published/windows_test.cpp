// SPDX-License-Identifier: GPL-3.0-or-later
// Checks figures of merit of Hann's window, the only one in use, as numeric/fft makes it for spectra and as measure/lock_in composes it
// from hops.
#include <cmath>
#include <complex>
#include <numbers>

#include "measure/lock_in.hpp"
#include "numeric/distributions.hpp"
#include "numeric/fft.hpp"
#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;
using namespace evenwall::internal::numeric;

namespace {

constexpr std::size_t kSize = 4096;

/// Response at an offset from the line, in bins, relative to that on the line.
double response_db(const std::vector<double>& w, double bins) {
  std::complex<double> sum;
  double on_line = 0;
  for (std::size_t n = 0; n < w.size(); ++n) {
    sum += w[n] * std::polar(1.0, -2 * std::numbers::pi * bins * static_cast<double>(n) / static_cast<double>(w.size()));
    on_line += w[n];
  }
  return 20 * std::log10(std::abs(sum) / on_line);
}

double correlation_at_overlap(const std::vector<double>& w, double overlap) {
  const auto shift = static_cast<std::size_t>((1 - overlap) * static_cast<double>(w.size()));
  double shared = 0, all = 0;
  for (std::size_t n = 0; n < w.size(); ++n) {
    all += w[n] * w[n];
    if (n + shift < w.size()) shared += w[n] * w[n + shift];
  }
  return shared / all;
}

double width_bins(const std::vector<double>& w, double down_db) {
  return 2 * bracketed_root([&](double b) { return response_db(w, b) + down_db; }, 0.1, 1.9).value();
}

}  // namespace

TEST_CASE("Hann's window has the figures of merit that Heinzel, Rüdiger and Schilling published in 2002") {
  // Published: NENBW 1.5 bins, highest sidelobe −31.5 dB, flatness −1.4236 dB, width at −3 dB 1.4382 bins, recommended overlap 50 %.
  const auto w = hann_window(kSize);
  double sum = 0, squares = 0;
  for (const double x : w) sum += x, squares += x * x;
  CHECK_THAT(static_cast<double>(kSize) * squares / (sum * sum), WithinRel(1.5, 1e-13));
  CHECK_THAT(response_db(w, 0.5), WithinAbs(-1.4236, 5e-5));
  // Trap: their "3 dB" is −3.000 dB, not half the power (−3.0103 dB, 1.4406 bins).
  CHECK_THAT(width_bins(w, 3.0), WithinAbs(1.4382, 5e-5));
  CHECK_THAT(width_bins(w, 10 * std::log10(2.0)), WithinAbs(1.4406, 5e-5));
  double highest = -INFINITY, at = 0;
  for (double bins = 2; bins < 12; bins += 0.005) {
    const double level = response_db(w, bins);
    if (level > highest) highest = level, at = bins;
  }
  CHECK_THAT(highest, WithinAbs(-31.467, 5e-4));  // recomputed to more digits than the paper's −31.5
  CHECK_THAT(at, WithinAbs(2.36, 0.01));
  CHECK(response_db(w, 2) < -250);  // first zero at 2 bins
}

TEST_CASE("Hann's window has the values of its row in Harris 1978, table I") {
  // Printed values from memory: coherent gain 0.50, ENBW 1.50, 3 dB 1.44, 6 dB 2.00, scallop 1.42, worst-case loss 3.18 dB, overlap
  // correlation 65.9 % and 16.7 %, sidelobe −32 dB. Tolerance: the printed digit. Trap: the sidelobe is −31.47 and rounds to −31.
  const auto w = hann_window(kSize);
  double sum = 0;
  for (const double x : w) sum += x;
  CHECK_THAT(sum / kSize, WithinAbs(0.50, 1e-12));
  CHECK_THAT(width_bins(w, 3.0103), WithinAbs(1.44, 5e-3));
  CHECK_THAT(width_bins(w, 6.0206), WithinAbs(2.00, 5e-3));
  CHECK_THAT(-response_db(w, 0.5), WithinAbs(1.42, 5e-3));
  CHECK_THAT(10 * std::log10(1.5) - response_db(w, 0.5), WithinAbs(3.18, 5e-3));
  CHECK_THAT(100 * correlation_at_overlap(w, 0.75), WithinAbs(65.9, 0.05));
  CHECK_THAT(100 * correlation_at_overlap(w, 0.50), WithinAbs(16.7, 0.05));
}

TEST_CASE("The lock-in's frames have Hann's response to a tone beside their frequency") {
  // A frame is four hops of 5.33 ms: 1024 samples at 48 kHz, so one bin is 46.875 Hz.
  const double rate_hz = 48000, bin_hz = 48000.0 / 1024;
  const double centre_hz = 1000;
  const auto level_db = [&](double bins) {
    LockIn lock_in(rate_hz, centre_hz, 0);
    REQUIRE(lock_in.hop_frames() == 256);
    const Canvas canvas = Canvas(rate_hz, 0.1).tone(0, 0.1, centre_hz + bins * bin_hz, 0.5, 0.25);
    for (std::size_t h = 0; h < 16; ++h) lock_in.add_hop(canvas.samples.data() + 2 * 256 * h);
    return 20 * std::log10(std::abs(lock_in.frames().left[6]) / 0.5);
  };
  // The tone's mirror image at −1000 Hz is 40 bins away. Hann's window leaves −120 dB of it, which is 1e-5 dB, and more beside a zero.
  CHECK_THAT(level_db(0), WithinAbs(0, 2e-4));
  CHECK_THAT(level_db(0.5), WithinAbs(-1.4236, 3e-4));
  CHECK_THAT(level_db(-0.5), WithinAbs(-1.4236, 3e-4));
  CHECK_THAT(level_db(1), WithinAbs(-6.0206, 5e-4));
  CHECK_THAT(level_db(2.36), WithinAbs(-31.467, 0.02));
  CHECK(level_db(2) < -85);
}
