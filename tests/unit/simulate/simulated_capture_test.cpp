// SPDX-License-Identifier: GPL-3.0-or-later
#include "simulate/simulated_capture.hpp"

#include <cmath>
#include <complex>
#include <numbers>

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::simulate;

namespace {

Scenario quiet_scenario() {
  Scenario s = random_scenario(5, 1.8);
  s.noise = {};
  s.record.wow_percent = s.record.warp_deg = s.record.warp_second_deg = s.record.flutter_percent = s.record.speed_error_percent = 0;
  s.cartridge.second_harmonic_percent = s.cartridge.third_harmonic_percent = 0;
  return s;
}

std::vector<float> whole(AudioSource& a) {
  std::vector<float> x(2 * static_cast<std::size_t>(a.frames()));
  REQUIRE(a.read(0, a.frames(), x.data()) == a.frames());
  return x;
}

/// Complex amplitude at 1 kHz of one channel over whole periods, by a plain sum.
Complex amplitude(const std::vector<float>& x, std::size_t channel, std::size_t first, std::size_t count) {
  Complex sum;
  for (std::size_t n = first; n < first + count; ++n) {
    sum += static_cast<double>(x[2 * n + channel]) * std::polar(1.0, -2 * std::numbers::pi * static_cast<double>(n % 48) / 48);
  }
  return 2.0 / static_cast<double>(count) * sum;
}

}  // namespace

TEST_CASE("A simulated capture is the same in whatever order it is read, and its seed makes it again") {
  const SimulatedSession session(random_scenario(9, 1.0), 9);
  auto first = session.capture(2);
  const auto all = whole(*first);
  auto second = session.capture(2);
  std::vector<float> piece(2 * 1000);
  for (const std::int64_t at : {0L, 1L, 63L, 64L, 100'000L, 50'000L, 77L, 200'000L}) {
    REQUIRE(second->read(at, 1000, piece.data()) == 1000);
    CHECK(std::equal(piece.begin(), piece.end(), all.begin() + 2 * at));
  }
  CHECK(second->read(second->frames() - 5, 1000, piece.data()) == 5);
  CHECK(second->read(second->frames(), 1000, piece.data()) == 0);
  const SimulatedSession other(random_scenario(9, 1.0), 10);
  auto third = other.capture(2);
  std::vector<float> noise(2 * 1000);
  third->read(0, 1000, noise.data());
  CHECK_FALSE(std::equal(noise.begin(), noise.end(), all.begin()));
}

TEST_CASE("The tones have the ratios that the document of true values states") {
  const SimulatedSession session(quiet_scenario(), 5);
  for (std::size_t step = 0; step < session.size(); ++step) {
    auto audio = session.capture(step);
    const auto x = whole(*audio);
    // The bands are: unmodulated 2 s, left 1.8 s, unmodulated 1.2 s, right 1.8 s. The lead-in is at most 0.3 s.
    const Complex lr = amplitude(x, 1, 120'000, 48'000) / amplitude(x, 0, 120'000, 48'000);
    const Complex rl = amplitude(x, 0, 264'000, 48'000) / amplitude(x, 1, 264'000, 48'000);
    const auto& truth = session.truth().steps[step];
    INFO("step " << step);
    CHECK(std::abs(rl - truth.right_into_left_same_passage) < 1e-6);  // float samples: 6e-8/√48000 and the crosstalk's own 1e-7
    CHECK(std::abs(lr - truth.left_into_right_same_passage) < 1e-6);
  }
}

TEST_CASE("Wow and warp follow the groove, so that they are the same at each step") {
  Scenario s = quiet_scenario();
  s.record.warp_deg = 0.5;
  const SimulatedSession session(s, 5);
  // The crosstalk of short stretches gives the lean over time; the start of the tone gives the length of the lead-in.
  const auto leans = [&](std::size_t step) {
    auto audio = session.capture(step);
    const auto x = whole(*audio);
    std::size_t begin = 90'000;
    while (std::abs(x[2 * begin]) < 0.01F) ++begin;
    std::vector<double> re;
    for (std::size_t k = 1; k < 8; ++k) {
      const Complex q = amplitude(x, 1, begin + 9'600 * k, 4'800) / amplitude(x, 0, begin + 9'600 * k, 4'800);
      re.push_back(q.real());
    }
    return re;
  };
  const auto a = leans(0);
  const auto b = leans(3);
  double largest = 0;
  for (std::size_t k = 1; k < a.size(); ++k) {
    largest = std::max(largest, std::abs(a[k] - a[0]));
    CHECK_THAT(b[k] - b[0], WithinAbs(a[k] - a[0], 3e-4));  // second-order bend of the response over 3° of tilt
  }
  CHECK(largest > radians(0.5));
}

TEST_CASE("A wow of 0.15 % moves the frequency of a 1 kHz tone by up to 1.5 Hz in both directions") {
  Scenario s = quiet_scenario();
  s.record.wow_percent = 0.15;
  s.record.bands = {{Band::kLeft, 1000, 3.6, -12, 0.05}};
  const SimulatedSession session(s, 5);
  auto audio = session.capture(0);
  const auto x = whole(*audio);
  double lowest = 1e9, highest = 0;
  for (std::size_t n = 24'000; n + 4'800 + 480 < 160'000; n += 2'400) {
    const double turn = std::arg(amplitude(x, 0, n + 480, 4'800) / amplitude(x, 0, n, 4'800));
    const double hz = 1000 + turn / (2 * std::numbers::pi) * 100;  // 480 samples are 10 ms
    lowest = std::min(lowest, hz);
    highest = std::max(highest, hz);
  }
  CHECK_THAT(highest - lowest, WithinAbs(3.0, 0.05));  // averaging over 0.1 s of a 1.8 s swing loses 0.5 %
}

TEST_CASE("Swapped leads and a reversed polarity also affect the noise and the DC offset") {
  Scenario s = random_scenario(5, 0.5);
  const auto straight_audio = SimulatedSession(s, 5).capture(1);
  const auto straight = whole(*straight_audio);
  s.cartridge.channels_swapped = s.cartridge.right_polarity_reversed = true;
  const auto faulty_audio = SimulatedSession(s, 5).capture(1);
  const auto faulty = whole(*faulty_audio);
  REQUIRE(faulty.size() == straight.size());
  float worst = 0;
  for (std::size_t n = 0; n < straight.size(); n += 2) {
    worst = std::max({worst, std::abs(faulty[n] + straight[n + 1]), std::abs(faulty[n + 1] - straight[n])});
  }
  CHECK(worst < 1e-7F);  // a float's last digit near 1
}
