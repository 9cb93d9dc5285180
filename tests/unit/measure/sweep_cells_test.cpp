// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sweep_cells.hpp"

#include "support/catch.hpp"
#include "support/sweeps.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

/// A right-only linear sweep from 60 Hz to 12 kHz, from 2 s to 10 s, silent for 60 ms at 6 s.
MemorySource linear_sweep() {
  Canvas canvas(48000, 12);
  draw_sweep(
      canvas, 2, 8, [](double t) { return 60 + 1492.5 * t; },
      [](double t) { return std::abs(t - 4) < 0.03 ? std::pair<Complex, Complex>(0, 0) : std::pair<Complex, Complex>(0.002, 0.1); });
  return canvas.noise(1e-4, 5).source();
}

SweepStretch stretch_with(const SweepLaw& law) { return {Driven::kRight, law, 2.3, 9.7, 1, 11}; }

}  // namespace

TEST_CASE("The phase determines a linear law more accurately than the scan") {
  auto source = linear_sweep();
  const SweepLaw rough{false, 6, 60 + 1492.5 * 4 + 15, 1492.5 - 5};  // the largest error that the scan may have
  const SweepLaw law = refined(rough, follow(source, rough, 2, 10), stretch_with(rough));
  CHECK_THAT(law.frequency_hz(2.0), WithinAbs(60, 1));  // windows at 60 Hz tolerate 7.5 Hz
  CHECK_THAT(law.frequency_hz(10.0), WithinAbs(12000, 1));
}

TEST_CASE("Edges lie where the sweep begins and ends, and a dropout excludes only its own frames") {
  auto source = linear_sweep();
  const SweepLaw law{false, 6, 60 + 1492.5 * 4, 1492.5};
  const auto inside = inside_of(follow(source, law, 1.97, 11).frames, stretch_with(law));
  REQUIRE(inside);
  CHECK_THAT(inside->start_s, WithinAbs(2, 0.1));
  CHECK_THAT(inside->end_s, WithinAbs(10, 0.02));
  const Cells cells = cells_of(*inside, law, Driven::kRight);
  CHECK(cells.time_s.size() > 400);
  CHECK_THAT(cells.lost_fraction, WithinAbs(0.06 / 8, 0.006));  // plus the frames that lie half in it
  for (std::size_t c = 0; c < cells.time_s.size(); ++c) {
    // The played frequency is that of the law, except for the effect of noise 57 dB down on the phase of one row.
    CHECK_THAT(cells.ln_f[c], WithinAbs(std::log(law.frequency_hz(cells.time_s[c])), 2e-3));
    CHECK(std::abs(cells.response[c] / cells.reference[c] - 0.02) < 0.01);
  }
}

TEST_CASE("The frequencies of the rows are those played, even if there is wow and the law is wrong") {
  Canvas canvas(48000, 12);
  const auto wow = [](double t) { return 1 + 0.003 * std::sin(2 * 3.14159265358979 * t / 1.8); };
  const auto hz = [](double t) { return 400 * std::pow(20.0, t / 8); };
  draw_sweep(
      canvas, 2, 8, [&](double t) { return hz(t) * wow(t); }, [](double) { return std::pair<Complex, Complex>(0.002, 0.1); });
  auto source = canvas.noise(1e-4, 5).source();
  const SweepLaw law{true, 2, 400 * 1.001, std::log(20.0) / 8};
  const auto inside = inside_of(follow(source, law, 1.97, 11).frames, stretch_with(law));
  REQUIRE(inside);
  const Cells cells = cells_of(*inside, law, Driven::kRight);
  double square = 0;
  for (std::size_t c = 0; c < cells.time_s.size(); ++c) {
    const double played_hz = hz(cells.time_s[c] - 2) * wow(cells.time_s[c] - 2);
    square += std::pow(std::log(played_hz) - cells.ln_f[c], 2) / static_cast<double>(cells.time_s.size());
  }
  CHECK(std::sqrt(square) < 2e-4);  // the error of the law is 1e-3, that of wow 2e-3 rms
}

TEST_CASE("Clicks beside the track at most double the largest error of the rows") {
  const auto worst = [](bool clicks) {
    Canvas canvas(48000, 12);
    draw_sweep(
        canvas, 2, 8, [](double t) { return 60 + 1492.5 * t; }, [](double) { return std::pair<Complex, Complex>(0.002, 0.1); });
    for (int k = 0; clicks && k < 10; ++k) {
      const std::size_t at = static_cast<std::size_t>((2.4 + 0.7 * k) * 48000);
      for (std::size_t n = 0; n < 24; ++n) canvas.samples[2 * (at + n)] += n % 2 == 0 ? 0.3F : -0.2F;
    }
    auto source = canvas.noise(1e-4, 5).source();
    const SweepLaw law{false, 6, 60 + 1492.5 * 4, 1492.5};
    const auto inside = inside_of(follow(source, law, 1.97, 11).frames, stretch_with(law));
    REQUIRE(inside);
    const Cells cells = cells_of(*inside, law, Driven::kRight);
    CHECK(cells.lost_fraction < 0.01);  // a click does not count as a dropout
    double largest = 0;
    for (std::size_t c = 0; c < cells.time_s.size(); ++c)
      largest = std::max(largest, std::abs(cells.response[c] / cells.reference[c] - 0.02));
    return largest;
  };
  CHECK(worst(true) < 2 * worst(false));
}

TEST_CASE("The noise of each row is correct relative to the noise of the other rows") {
  Canvas canvas(48000, 12);
  draw_sweep(
      canvas, 2, 8, [](double t) { return 60 + 1992.5 * t; }, [](double) { return std::pair<Complex, Complex>(0.002, 0.1); });
  // The noise has one pole at 0.9: it falls by 5.1 dB per octave from 0.8 kHz on. Beyond 15.7 kHz of 48 there is no room beside the track.
  rig::Draw draw(8);
  double state[2] = {0, 0};
  for (std::size_t n = 0; n < canvas.samples.size(); ++n) {
    double& x = state[n % 2];
    x = 0.9 * x + 1e-3 * draw.normal();
    canvas.samples[n] += static_cast<float>(x);
  }
  auto source = canvas.source();
  const SweepLaw law{false, 6, 60 + 1992.5 * 4, 1992.5};
  const auto inside = inside_of(follow(source, law, 1.97, 11).frames, stretch_with(law));
  REQUIRE(inside);
  const Cells cells = cells_of(*inside, law, Driven::kRight);
  REQUIRE(cells.noise.size() == cells.time_s.size());
  // The amplitude in a window is this density divided by the root of the window's length, which differs between the two rows.
  const auto density = [](double f) { return 1 / std::abs(1.0 - 0.9 * std::polar(1.0, -2 * 3.14159265358979 * f / 48000)); };
  const auto at = [&](double f) {
    std::vector<double> near;
    for (std::size_t c = 0; c < cells.time_s.size(); ++c) {
      if (std::abs(std::exp(cells.ln_f[c]) / f - 1) < 0.05) near.push_back(cells.noise[c]);
    }
    REQUIRE_FALSE(near.empty());
    return near[near.size() / 2];
  };
  for (const double f : {2000.0, 4000.0, 8000.0}) {
    const double expected = density(1.5 * f) / density(1500.0) * std::sqrt(track_window_s(1000) / track_window_s(f));
    INFO(f);
    CHECK_THAT(at(f) / at(1000), WithinRel(expected, 0.35));  // about thirty frames, four per window: 20 % each
  }
  CHECK_THAT(cells.noise.back() / at(15500), WithinRel(1.0, 0.5));
}

TEST_CASE("Silence gives too few rows for a sweep") {
  auto source = Canvas(48000, 12).source();
  const SweepLaw law{false, 6, 6000, 1492.5};
  const auto inside = inside_of(follow(source, law, 2, 11).frames, stretch_with(law));
  CHECK((!inside || cells_of(*inside, law, Driven::kRight).time_s.size() < kSweepLeastCells));
}
