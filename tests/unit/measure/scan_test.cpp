// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/scan.hpp"

#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

/// Counts how often it is read.
class CountingSource : public MemorySource {
 public:
  using MemorySource::MemorySource;
  std::int64_t read(std::int64_t first, std::int64_t count, float* out) override {
    ++reads;
    return MemorySource::read(first, count, out);
  }
  std::size_t reads = 0;
};

}  // namespace

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

TEST_CASE("In noise, less than a fifth of the power is tonal") {
  auto source = Canvas(48000, 2).noise(0.1, 1).source();
  for (const ScanFrame& frame : scan(source, {}, {}).frames) CHECK(frame.tonal_fraction < 0.2);
}

TEST_CASE("The scan reads only the requested stretch") {
  auto source = Canvas(48000, 4).tone(0, 2, 1000, 0.25, 0.01).source();
  const Scan late = scan(source, 2.1, 3.5);
  CHECK(late.largest_sample == 0);
  CHECK(late.frames.front().middle_s > 2.1);
  CHECK(late.frames.back().middle_s < 3.5);
  CHECK(scan(source, 100.0, {}).frames.empty());
}

TEST_CASE("The scan reports identical channels and counts samples that are not numbers") {
  auto dual = Canvas(48000, 1).tone(0, 1, 1000, 0.2, 0.2).source();
  CHECK(scan(dual, {}, {}).channels_identical);
  auto stereo = Canvas(48000, 1).tone(0, 1, 1000, 0.2, 0.1).source();
  CHECK_FALSE(scan(stereo, {}, {}).channels_identical);
  stereo.samples()[500] = std::nanf("");
  const Scan s = scan(stereo, {}, {});
  CHECK(s.samples_not_finite >= 1);
  CHECK_THAT(s.largest_sample, WithinAbs(0.2, 1e-4));
}

TEST_CASE("The scan finds a tone beneath crackle, and without clicks every frame is tonal") {
  Canvas canvas(48000, 3);
  canvas.tone(0, 3, 1000, 0.05, 0.001).noise(1e-4, 8);
  auto quiet = canvas.source();
  const Scan before = scan(quiet, {}, {});
  rig::Draw draw(11);
  for (int click = 0; click < 150; ++click) {  // 50 per second, half a millisecond each, 20 dB above the tone's peak
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

TEST_CASE("If nothing changes, the scan reads about a fifth of the frames, and in a possible noise band it reads all of them") {
  const auto reads_of = [](const Canvas& canvas) {
    CountingSource source(canvas.samples, canvas.rate_hz);
    const std::size_t frames = scan(source, {}, {}).frames.size();
    return static_cast<double>(source.reads) / static_cast<double>(frames);
  };
  CHECK(reads_of(Canvas(48000, 10).tone(0, 10, 1000, 0.2, 0.002)) < 0.25);
  CHECK(reads_of(Canvas(48000, 10).noise(1e-5, 4)) < 0.25);
  CHECK(reads_of(Canvas(48000, 10).noise(0.05, 4)) > 0.99);  // this may be a noise band
  // Surface noise of −56 dBFS is too weak for a noise band, also beside hum.
  CHECK(reads_of(Canvas(48000, 10).noise(1.5e-3, 4)) < 0.25);
  CHECK(reads_of(Canvas(48000, 10).tone(0, 10, 250, 2e-3, 1.5e-3).noise(5e-4, 4)) < 0.25);
}

TEST_CASE("No frame is interpolated across a step of level, of frequency or of the driven channel") {
  const Canvas steps[] = {Canvas(48000, 4).tone(0, 2.03, 1000, 0.2, 0.002).tone(2.03, 2, 1000, 0.14, 0.002),
                          Canvas(48000, 4).tone(0, 2.03, 1000, 0.2, 0.002).tone(2.03, 2, 1030, 0.2, 0.002),
                          Canvas(48000, 4).tone(0, 2.03, 1000, 0.2, 0.002).tone(2.03, 2, 1000, 0.002, 0.2)};
  for (const Canvas& step : steps) {
    auto source = step.source();
    const Scan s = scan(source, {}, {});
    // Frames that are interpolated between two looks deviate by no more than these may differ: 1 % and 1 dB.
    const auto like = [](const ScanFrame& a, const ScanFrame& b) {
      return std::abs(a.frequency_hz / b.frequency_hz - 1) < 0.01F && a.amplitude_left < 1.122F * b.amplitude_left &&
             b.amplitude_left < 1.122F * a.amplitude_left;
    };
    std::size_t neither = 0;
    for (const ScanFrame& frame : s.frames) neither += like(frame, s.frames.front()) || like(frame, s.frames.back()) ? 0 : 1;
    // One frame of 43 ms begins every 50 ms, so at most one contains the step. No frame is interpolated across it.
    CHECK(neither <= 1);
  }
}

TEST_CASE("The scan finds the shortest tone wherever it begins") {
  for (int tenth = 0; tenth < 25; ++tenth) {
    const double start_s = 1 + 0.01 * tenth;
    INFO("from " << start_s << " s");
    for (const double noise : {1e-5, 1.5e-3}) {
      auto source = Canvas(48000, 3).tone(start_s, 0.5, 1000, 0.2, 0.002).noise(noise, 6).source();
      std::size_t heard = 0;
      for (const ScanFrame& frame : scan(source, {}, {}).frames) heard += frame.tonal_fraction > 0.9F ? 1 : 0;
      CHECK(heard >= 9);
      CHECK(heard <= 11);
    }
  }
}
