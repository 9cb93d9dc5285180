// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/listen.hpp"

#include "support/catch.hpp"
#include "support/memory_source.hpp"
#include "support/statistics.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

constexpr double kRpm = 100.0 / 3;
const Complex kLeak = std::polar(0.015, 1.0);

ToneStretch stretch(double start_s, double end_s, Driven driven = Driven::kLeft) { return {driven, start_s, end_s, 1000}; }

}  // namespace

TEST_CASE("In white noise the crosstalk has the variance of the Cramér–Rao bound within 15 %, and its uncertainty states this") {
  // Var = 2σ²/(N·A²) for each part if the driven tone is known and the noise of the undriven channel is white (Rife and Boorstyn 1974, from
  // memory; derived anew in docs/accuracy.md).
  const double sigma = 0.01, amplitude = 0.2, seconds = 2.0;
  const double bound = 2 * sigma * sigma / (seconds * 48000 * amplitude * amplitude);
  double squares = 0, stated = 0;
  const int runs = drawn(300);
  for (std::uint64_t seed = 1; seed <= static_cast<std::uint64_t>(runs); ++seed) {
    rig::Draw draw(seed);
    Canvas canvas(48000, seconds + 0.2);
    canvas.tone(0.1, seconds, 1000, amplitude, amplitude * kLeak);
    for (std::size_t i = 1; i < canvas.samples.size(); i += 2) canvas.samples[i] += static_cast<float>(sigma * draw.normal());
    auto source = canvas.source();
    const auto heard = listen(source, stretch(0.1, 0.1 + seconds), kRpm);
    REQUIRE(heard);
    squares += std::norm(heard->ratio.value - kLeak) / (2 * runs);
    stated += (heard->ratio.u_re * heard->ratio.u_re + heard->ratio.u_im * heard->ratio.u_im) / (2 * runs);
  }
  WARN("the variance is " << squares / bound << " of the bound, and the stated variance is " << stated / squares << " of the actual one");
  if (few_sessions()) return;
  // The mean of 600 squares is known to 5.8 %. The harmonics of the turn and 40 ms at the edges cost a share of two seconds.
  CHECK(squares / bound < 1.15 + 0.12);
  CHECK(squares / bound > 0.88);
  CHECK_THAT(stated / squares, WithinAbs(1.0, 0.15));
}

TEST_CASE("Edges, level, frequency and wow of a passage are measured with its crosstalk") {
  Canvas canvas(48000, 8);
  double phase = 0;
  for (std::size_t n = 48'000; n < 6 * 48'000; ++n) {
    const double t = static_cast<double>(n) / 48000;
    phase += 2 * 3.14159265358979 * 1002 * (1 + 0.003 * std::sin(2 * 3.14159265358979 * t / 1.8)) / 48000;
    canvas.samples[2 * n] = static_cast<float>(0.2 * std::cos(phase));
    canvas.samples[2 * n + 1] = static_cast<float>(0.002 * std::cos(phase));
  }
  canvas.noise(1e-4, 5);
  auto source = canvas.source();
  const auto heard = listen(source, stretch(1.03, 5.96), kRpm);
  REQUIRE(heard);
  CHECK_THAT(heard->passage.start_s, WithinAbs(1, 0.008));
  CHECK_THAT(heard->passage.end_s, WithinAbs(6, 0.008));
  CHECK_THAT(*heard->passage.frequency_hz, WithinAbs(1002, 0.02));
  CHECK_THAT(*heard->passage.wow_percent, WithinAbs(0.3, 0.005));
  // A frame that is 2 Hz off its tone, and 3 Hz more because of wow, loses up to 0.65·(5 Hz·21 ms)² = 0.7 %, equally in both channels.
  CHECK_THAT(heard->ln_level, WithinAbs(std::log(0.2), 4e-3));
  CHECK(std::abs(heard->ratio.value - 0.01) < 2e-5);
  CHECK(heard->whole_revolution);
}

TEST_CASE("If a passage is shorter than a revolution, its uncertainty includes the possible warp") {
  auto source = Canvas(48000, 2).tone(0.2, 1.2, 1000, 0.2, 0.2 * kLeak).noise(1e-4, 6).source();
  const auto heard = listen(source, stretch(0.2, 1.4), kRpm);
  REQUIRE(heard);
  CHECK_FALSE(heard->whole_revolution);
  // The ratio does not bend over two thirds of a turn, so a lean must be small. The error that it may hide still exceeds the noise.
  CHECK(heard->ratio.u_re > radians(0.002));
  CHECK(heard->ratio.u_re < radians(0.03));
  CHECK(heard->ratio.u_groove > 0.7 * heard->ratio.u_re);
}

TEST_CASE("A tone that is too short gives no result, and neither does silence") {
  auto source = Canvas(48000, 1).tone(0.2, 0.1, 1000, 0.2, 0.002).source();
  CHECK_FALSE(listen(source, stretch(0.2, 0.3), kRpm));
  auto silence = Canvas(48000, 3).source();
  CHECK_FALSE(listen(silence, stretch(0.2, 2.5), kRpm));
}
