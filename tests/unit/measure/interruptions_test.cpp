// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/interruptions.hpp"

#include "measure/lock_in.hpp"
#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

constexpr double kRate_hz = 48000;

std::vector<SilentRuns::Run> runs_of(const std::vector<float>& stereo, std::int64_t least, std::int64_t block, std::int64_t step) {
  SilentRuns silence(least);
  const auto frames = static_cast<std::int64_t>(stereo.size() / 2);
  for (std::int64_t at = 0; at < frames; at += step) silence.add(at, stereo.data() + 2 * at, std::min(block, frames - at));
  return silence.runs();
}

/// Phase jumps that are found in a tone of that frequency after `change` has altered its samples.
template <class Change>
std::vector<PhaseJump> jumps_in(double tone_hz, double noise, const Change& change) {
  Canvas canvas(kRate_hz, 3);
  canvas.tone(0, 3, tone_hz, 0.25, 0).noise(noise, 7);
  change(canvas.samples);
  LockIn lock_in(kRate_hz, tone_hz, 0);
  const std::size_t hop = lock_in.hop_frames();
  for (std::size_t at = 0; at + hop <= canvas.samples.size() / 2; at += hop) lock_in.add_hop(canvas.samples.data() + 2 * at);
  const LockInFrames frames = lock_in.frames();
  return phase_jumps(frames.left, frames.first_middle_s, frames.hop_s);
}

void lose(std::vector<float>& samples, double at_s, std::ptrdiff_t frames) {
  const auto at = samples.begin() + 2 * static_cast<std::ptrdiff_t>(at_s * kRate_hz);
  samples.erase(at, at + 2 * frames);
}

void repeat(std::vector<float>& samples, double at_s, std::ptrdiff_t frames) {
  const auto at = static_cast<std::ptrdiff_t>(at_s * kRate_hz);
  const std::vector<float> buffer(samples.begin() + 2 * (at - frames), samples.begin() + 2 * at);
  samples.insert(samples.begin() + 2 * at, buffer.begin(), buffer.end());
}

void unchanged(std::vector<float>& /*samples*/) {}

}  // namespace

TEST_CASE("Runs of zeros in both channels are found whole, whatever the boundaries of the blocks are") {
  std::vector<float> stereo(2 * 1000, 0.1F);
  for (std::size_t n = 100; n < 150; ++n) stereo[2 * n] = stereo[2 * n + 1] = 0;
  for (std::size_t n = 300; n < 319; ++n) stereo[2 * n] = stereo[2 * n + 1] = 0;  // one frame too short
  for (std::size_t n = 500; n < 600; ++n) stereo[2 * n] = 0;                      // one channel only: the undriven channel may be zero
  for (std::size_t n = 990; n < 1000; ++n) stereo[2 * n] = stereo[2 * n + 1] = 0;
  for (const std::int64_t block : {1000, 128, 7}) {
    for (const std::int64_t step : {block, std::max<std::int64_t>(1, block / 2)}) {
      const auto runs = runs_of(stereo, 20, block, step);
      REQUIRE(runs.size() == 1);
      CHECK(runs[0].first == 100);
      CHECK(runs[0].frames == 50);
    }
  }
}

TEST_CASE("The shortest run that counts is found wherever it begins, and a run that is one frame shorter is never found") {
  constexpr std::int64_t kLeast = 40;
  for (std::int64_t at = 100; at < 200; ++at) {
    for (const std::int64_t length : {kLeast - 1, kLeast}) {
      std::vector<float> samples(2 * 500, 0.1F);
      std::fill_n(samples.begin() + 2 * at, 2 * length, 0.0F);
      SilentRuns runs(kLeast);
      runs.add(0, samples.data(), 170);
      runs.add(170, samples.data() + 2 * 170, 330);
      INFO("from " << at << ", " << length << " frames");
      REQUIRE(runs.runs().size() == (length == kLeast ? 1U : 0U));
      if (length < kLeast) continue;
      CHECK(runs.runs()[0].first == at);
      CHECK(runs.runs()[0].frames == kLeast);
    }
  }
}

TEST_CASE("Silence counts only between the ends of a passage") {
  const auto inside = silences_between({{10, 5}, {100, 50}, {990, 20}}, 1000, 0.012, 1.0);
  REQUIRE(inside.size() == 1);
  CHECK(inside[0] == Interval{0.1, 0.15});
}

TEST_CASE("A rounded tone with an amplitude of 0.72 steps or more contains no silence of the least length") {
  for (const double tone_hz : {20.0, 315.0, 1000.0, 10000.0}) {
    for (const double steps : {0.72, 1.0, 3.0, 200.0}) {
      Canvas canvas(kRate_hz, 0.5);
      canvas.tone(0, 0.5, tone_hz, steps / 32768, 0);
      for (float& x : canvas.samples) x = std::round(x * 32768) / 32768;
      CHECK(runs_of(canvas.samples, least_silence_frames(kRate_hz, tone_hz), 4096, 4096).empty());
    }
  }
  CHECK(least_silence_frames(kRate_hz, 10000) == 20);  // 0.4 ms
  CHECK(least_silence_frames(kRate_hz, 100) == 120);   // a quarter of 10 ms
}

TEST_CASE("Lost samples and a buffer written twice make the phase jump") {
  const auto lost = jumps_in(1000, 0.001, [](auto& x) { lose(x, 1.5, 17); });
  REQUIRE(lost.size() == 1);
  CHECK_THAT(lost[0].at_s, WithinAbs(1.5, 0.015));                        // three hops
  CHECK_THAT(lost[0].by_rad, WithinAbs(2 * 3.14159265 * 17 / 48, 0.05));  // noise: 0.01
  const auto twice = jumps_in(1000, 0.001, [](auto& x) { repeat(x, 1.0, 256), repeat(x, 2.0, 512); });
  REQUIRE(twice.size() == 2);
  CHECK_THAT(twice[0].by_rad, WithinAbs(-2 * 3.14159265 / 3, 0.05));  // 256 samples are 5 1/3 periods
  CHECK_THAT(twice[1].at_s, WithinAbs(2.0, 0.02));
  CHECK(jumps_in(1000, 0.001, [](auto& x) { repeat(x, 1.0, 480); }).empty());  // ten whole periods cannot be detected
}

TEST_CASE("Noise, clicks, gaps, wow and flutter are not taken for phase jumps") {
  for (const double noise : {0.0, 0.001, 0.02, 0.1}) CHECK(jumps_in(1000, noise, unchanged).empty());
  const auto crackle = [](auto& x) {
    rig::Draw draw(5);
    for (int i = 0; i < 30; ++i) x[static_cast<std::size_t>(draw.uniform(0, 2.9) * 2 * kRate_hz)] += static_cast<float>(20 * draw.normal());
  };
  CHECK(jumps_in(1000, 0.01, crackle).empty());
  const auto gap = [](auto& x) { std::fill(x.begin() + 96000, x.begin() + 96000 + 960, 0.0F); };  // 10 ms
  CHECK(jumps_in(1000, 0.01, gap).empty());
  for (const double tone_hz : {315.0, 1000.0, 3150.0, 10000.0}) {
    for (const auto& [depth, swing_hz] : {std::pair{0.01, 0.556}, {0.001, 4.0}, {0.001, 9.0}, {0.0005, 25.0}}) {
      const auto swing = [&, d = depth, s = swing_hz](std::vector<float>& x) {
        for (std::size_t n = 0; n < x.size() / 2; ++n) {
          const double t = static_cast<double>(n) / kRate_hz;
          const double turn = tone_hz * (t + d * std::sin(2 * 3.14159265 * s * t) / (2 * 3.14159265 * s));
          x[2 * n] = static_cast<float>(0.25 * std::cos(2 * 3.14159265 * std::fmod(turn, 1.0)));
        }
      };
      CHECK(jumps_in(tone_hz, 0.0, swing).empty());
    }
  }
}

TEST_CASE("A phase jump of half a turn is found although the amplitude vanishes there") {
  const auto jumps = jumps_in(1000, 0.0001, [](auto& x) { lose(x, 1.5, 24); });
  REQUIRE(jumps.size() == 1);
  CHECK_THAT(std::abs(jumps[0].by_rad), WithinAbs(3.14159, 0.05));
}

TEST_CASE("Too few frames give no phase jump, and neither does a gap in the level") {
  CHECK(phase_jumps({}, 0, 0.005).empty());
  std::vector<Complex> amplitude;
  for (int f = 0; f < 200; ++f) amplitude.push_back(std::polar(1.0, f > 100 ? 2.0 : 0.0));
  CHECK(phase_jumps(amplitude, 0, 0.005).size() == 1);
  for (std::size_t f = 96; f < 106; ++f) amplitude[f] *= 0.1;  // in a dropout of 50 ms it is unknown which phase continues
  CHECK(phase_jumps(amplitude, 0, 0.005).empty());
}
