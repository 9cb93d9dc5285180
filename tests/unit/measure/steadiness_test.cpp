// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/steadiness.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

constexpr double kSteadyHop_s = 0.00533;

struct SteadyTrack {
  std::vector<double> middle_s;
  std::vector<Complex> amplitude;
};

/// size: magnitude as a function of time. bins: constant phase speed, in bins of a four-hop frame.
template <class Size>
SteadyTrack track(double length_s, Size size, double bins = 0) {
  SteadyTrack t;
  for (int f = 0; f * kSteadyHop_s < length_s; ++f) {
    t.middle_s.push_back(f * kSteadyHop_s);
    t.amplitude.push_back(std::polar(size(f * kSteadyHop_s), 0.5 * 3.14159265358979 * bins * f));
  }
  return t;
}

HeardPassage steady() {
  HeardPassage p;
  p.level_wander_db = 0.1;
  p.passage.distortion_percent = 2;
  return p;
}

}  // namespace

TEST_CASE("The level of a decaying note wanders by its decay, and the level of a test tone with one step does not") {
  const SteadyTrack note = track(3, [](double t) { return std::exp(-t); });
  CHECK_THAT(*level_wander_db(true_levels(note.middle_s, note.amplitude), kSteadyHop_s),
             WithinAbs(0.25 * 8.686, 0.05));  // 8.686 dB per second; the lag is exact to half a hop
  const SteadyTrack step = track(3, [](double t) { return t < 1.5 ? 0.1 : 0.3; });
  CHECK_THAT(*level_wander_db(true_levels(step.middle_s, step.amplitude), kSteadyHop_s), WithinAbs(0, 1e-9));
}

TEST_CASE("The loss of a detuned tone in a Hann window is corrected") {
  // A Hann window passes sin(π/2)/(π/2·0.75) = 0.8488 of a tone that is 0.5 bins off. The tone is tuned and detuned for a quarter of a
  // second in turn, as wow would make it.
  const auto quarter = [](double s) { return static_cast<int>(s / 0.25) % 2 == 0; };
  SteadyTrack swing = track(3, [&](double s) { return quarter(s) ? 0.8488 : 1.0; });
  CHECK_THAT(*level_wander_db(true_levels(swing.middle_s, swing.amplitude), kSteadyHop_s),
             WithinAbs(1.42, 0.01));  // the phase does not show the detuning
  double phase = 0;
  for (std::size_t f = 0; f < swing.amplitude.size(); ++f) {
    if (quarter(swing.middle_s[f])) phase += 0.5 * 3.14159265358979 * 0.5;
    swing.amplitude[f] *= std::polar(1.0, phase);
  }
  CHECK(*level_wander_db(true_levels(swing.middle_s, swing.amplitude), kSteadyHop_s) < 0.05);
}

TEST_CASE("Too few pairs of frames give no level wander") {
  const SteadyTrack t = track(0.2, [](double) { return 1.0; });
  CHECK_FALSE(level_wander_db(true_levels(t.middle_s, t.amplitude), kSteadyHop_s));
}

TEST_CASE("A step of level is found with its true time and its true change") {
  for (const double factor : {2.0, 0.5, 1.15}) {
    const SteadyTrack step = track(5, [&](double t) { return t < 3.2 ? 0.1 : 0.1 * factor; });
    const auto found = level_step(true_levels(step.middle_s, step.amplitude));
    REQUIRE(found);
    CHECK_THAT(found->at_s, WithinAbs(3.2, 2 * kSteadyHop_s));
    CHECK_THAT(found->change_db, WithinAbs(decibels(factor), 1e-9));
  }
}

TEST_CASE("Dropouts, once-per-revolution swings, slow drifts, short fades and small steps are not taken for a step of level") {
  const auto none = [](auto size) {
    const SteadyTrack t = track(5, size);
    return !level_step(true_levels(t.middle_s, t.amplitude));
  };
  CHECK(none([](double) { return 0.1; }));
  CHECK(none([](double t) { return t > 2 && t < 2.15 ? 0.05 : 0.1; }));  // the drop fills less than half of either side's median
  CHECK(none([](double t) { return 0.1 * (1 + 0.05 * std::sin(2 * 3.14159 * t / 1.8)); }));  // 0.9 dB once a revolution
  CHECK(none([](double t) { return 0.1 * std::pow(10, 1.5 * t / 20); }));  // 1.5 dB per second: 0.6 dB between the medians
  CHECK(none([](double t) { return t < 2.5 ? 0.1 : 0.11; }));              // 0.83 dB
  CHECK(none([](double t) { return 0.1 * std::min({1.0, 0.5 + t / 0.3, 0.5 + (5 - t) / 0.3}); }));
}

TEST_CASE("In one second of tone, a step near the edge is not reported") {
  const SteadyTrack t = track(1, [](double s) { return s < 0.1 ? 0.05 : 0.1; });
  CHECK_FALSE(level_step(true_levels(t.middle_s, t.amplitude)));
}

TEST_CASE("Each reason to reject a passage is sufficient by itself") {
  CHECK(why_no_test_tone(steady()).empty());
  const auto refused = [](auto spoil) {
    HeardPassage p = steady();
    spoil(p);
    return !why_no_test_tone(p).empty();
  };
  CHECK(refused([](auto& p) { p.level_wander_db = 0.8; }));
  CHECK(refused([](auto& p) { p.level_wander_db.reset(); }));
  CHECK(refused([](auto& p) { p.passage.distortion_percent = 33; }));  // a square wave's third harmonic
  CHECK(refused([](auto& p) { p.hum.is_the_tone = true; }));
}
