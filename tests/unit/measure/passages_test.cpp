// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/passages.hpp"

#include "support/catch.hpp"
#include "support/memory_source.hpp"
#include "support/statistics.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

std::vector<ToneStretch> found(const Canvas& canvas) {
  auto source = canvas.source();
  return find_tones(scan(source, {}, {}));
}

}  // namespace

TEST_CASE("In 60 random layouts, every tone is found with its driven channel and with edges to within 0.06 s") {
  for (std::uint64_t seed = 1; seed <= drawn(60U); ++seed) {
    rig::Draw draw(seed);
    Canvas canvas(48000, 20);
    canvas.noise(0.002, seed);
    struct Truth {
      Driven driven;
      double start_s, end_s, frequency_hz;
    };
    std::vector<Truth> truth;
    double at = draw.uniform(0.3, 2);
    while (at < 14) {
      const double length = draw.uniform(1.0, 5.0), f = draw.uniform(300, 3200);
      const int kind = static_cast<int>(draw.uniform(0, 3));
      canvas.tone(at, length, f, kind == 1 ? 0.01 : 0.2, kind == 0 ? 0.01 : 0.18);
      truth.push_back({kind == 0 ? Driven::kLeft : kind == 1 ? Driven::kRight : Driven::kBoth, at, at + length, f});
      at += length + draw.uniform(0.3, 1.5);
    }
    const auto stretches = found(canvas);
    INFO("seed " << seed);
    REQUIRE(stretches.size() == truth.size());
    for (std::size_t i = 0; i < truth.size(); ++i) {
      CHECK(stretches[i].driven == truth[i].driven);
      CHECK_THAT(stretches[i].start_s, WithinAbs(truth[i].start_s, 0.06));
      CHECK_THAT(stretches[i].end_s, WithinAbs(truth[i].end_s, 0.06));
      CHECK_THAT(stretches[i].frequency_hz, WithinAbs(truth[i].frequency_hz, 1.0));
    }
  }
}

TEST_CASE("Hum, noise, a short beep and a sliding tone are not taken for tones") {
  CHECK(found(Canvas(48000, 4).tone(0, 4, 100, 0.3, 0.3).noise(0.001, 1)).empty());
  CHECK(found(Canvas(48000, 4).noise(0.1, 2)).empty());
  CHECK(found(Canvas(48000, 4).tone(1, 0.3, 1000, 0.3, 0.01)).empty());
  Canvas sliding(48000, 4);
  double phase = 0;
  for (std::size_t n = 0; n < 4 * 48000; ++n) {
    phase += 2 * 3.14159265358979 * (400 + 600 * static_cast<double>(n) / 48000) / 48000;
    sliding.samples[2 * n] = static_cast<float>(0.3 * std::sin(phase));
  }
  CHECK(found(sliding).empty());
}

TEST_CASE("Tones that follow each other without a gap are separated") {
  const auto two = found(Canvas(48000, 7).tone(1, 2.5, 1000, 0.2, 0.01).tone(3.5, 2.5, 1000, 0.01, 0.2));
  REQUIRE(two.size() == 2);
  CHECK(two[0].driven == Driven::kLeft);
  CHECK(two[1].driven == Driven::kRight);
  CHECK(two[0].end_s <= two[1].start_s);
}

TEST_CASE("A click and a dropout of 0.2 s do not end a tone") {
  Canvas canvas(48000, 6);
  canvas.tone(1, 4, 1000, 0.2, 0.01);
  for (std::size_t n = 0; n < 400; ++n) canvas.samples[2 * (96'000 + n)] = n % 2 == 0 ? 0.9F : -0.9F;
  for (std::size_t n = 140'000; n < 150'000; ++n) canvas.samples[2 * n] = canvas.samples[2 * n + 1] = 0;
  CHECK(found(canvas).size() == 1);
}
