// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/long_passages.hpp"

#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

constexpr double kLongRate_hz = 8000;
constexpr double kLongRpm = 100.0 / 3;
const Complex kLongLeak = std::polar(0.03, 1.0);

HeardPassage part_with(Complex value, double u, double start_s) {
  HeardPassage part;
  part.ratio = {value, u, u, 0};
  part.passage.frequency_hz = 1000;
  part.passage.start_s = start_s;
  part.passage.end_s = start_s + 61;
  part.whole_revolution = true;
  return part;
}

}  // namespace

TEST_CASE("Parts cover a passage, overlap, and are two minutes long at most") {
  CHECK(parts_of(1, 121) == std::vector<Interval>{{1, 121}});
  for (const double end_s : {121.01, 151.0, 400.0, 3601.0}) {
    const auto parts = parts_of(1, end_s);
    CAPTURE(end_s, parts.size());
    CHECK((parts.size() > 1 && parts.front()[0] == 1 && parts.back()[1] == end_s));
    for (std::size_t p = 0; p < parts.size(); ++p) {
      CHECK(parts[p][1] - parts[p][0] <= 121 + 1e-9);
      if (p > 0) CHECK_THAT(parts[p - 1][1] - parts[p][0], WithinAbs(1.0, 1e-9));
    }
  }
}

TEST_CASE("A tone of five minutes gives the true crosstalk, and its uncertainty fits the errors") {
  double squares = 0;
  const int runs = 4;
  for (int seed = 1; seed <= runs; ++seed) {
    Canvas canvas(kLongRate_hz, 302);
    canvas.tone(1, 300, 1000, 0.2, 0.2 * kLongLeak).noise(0.01, static_cast<std::uint64_t>(seed));
    auto source = canvas.source();
    const auto heard = listen(source, {Driven::kLeft, 1, 301, 1000}, kLongRpm);
    REQUIRE(heard);
    CHECK_THAT(heard->passage.start_s, WithinAbs(1, 0.01));
    CHECK_THAT(heard->passage.end_s, WithinAbs(301, 0.01));
    // Frames scatter by 0.3 Hz in this noise. The limit is 4 u of the mean of 1,500 frames.
    CHECK_THAT(*heard->passage.frequency_hz, WithinAbs(1000, 0.03));
    CHECK_THAT(heard->ln_level, WithinAbs(std::log(0.2), 1e-3));
    // This is the bound for white noise of that length. The scatter of the parts may add half as much again.
    const double bound = 0.01 * std::sqrt(2 / (300 * kLongRate_hz)) / 0.2;
    CHECK(heard->ratio.u_re > 0.9 * bound);
    CHECK(heard->ratio.u_re < 2 * bound);
    squares += std::pow((heard->ratio.value - kLongLeak).real() / heard->ratio.u_re, 2) / runs;
  }
  CHECK(squares < 3.3);  // mean of four squares of a normal variate, at 99 %
}

TEST_CASE("Parts that contradict each other enlarge the uncertainty of the whole passage, and so does rounding") {
  const HeardPassage alike = joined({part_with({0.03, 0}, 1e-4, 0), part_with({0.03, 0}, 1e-4, 60)});
  CHECK_THAT(alike.ratio.u_re, WithinAbs(1e-4 / std::sqrt(2), 1e-8));
  const HeardPassage apart = joined({part_with({0.029, 0}, 1e-4, 0), part_with({0.031, 0}, 1e-4, 60)});
  CHECK(apart.ratio.u_re > 5e-4);
  HeardPassage rounded = part_with({0.03, 0}, 1e-4, 0);
  rounded.u_rounding = 1e-3;
  CHECK(joined({rounded, part_with({0.03, 0}, 1e-4, 60)}).ratio.u_re > 1e-3);
}

TEST_CASE("A fault in the overlap of two parts counts once") {
  HeardPassage first = part_with({0.03, 0}, 1e-4, 0), second = part_with({0.03, 0}, 1e-4, 60);
  first.phase_jumps = {{10, 1}, {60.2, 1}};
  second.phase_jumps = {{60.21, 1}, {90, 1}};
  first.silences = {{60.1, 60.11}};
  second.silences = {{60.1, 60.11}, {70, 70.01}};
  const HeardPassage whole = joined({first, second});
  CHECK(whole.phase_jumps.size() == 3);
  CHECK(whole.silences.size() == 2);
  CHECK((whole.passage.start_s == 0 && whole.passage.end_s == 121));
}

TEST_CASE("The parts of a long sweep or noise passage give the weighted mean of each third octave that all parts have") {
  const auto part = [](double real, double u, std::vector<double> frequencies_hz) {
    HeardBands heard;
    heard.overall = part_with({0.03, 0}, 1e-4, 0);
    for (const double f : frequencies_hz) {
      BandRatio band;
      band.frequency_hz = f;
      band.ratio.value = {real, 0};
      band.ratio.u_re = band.ratio.u_im = u;
      band.ln_level = -2;
      band.u_ln_level = 0.01;
      heard.bands.push_back(band);
    }
    return heard;
  };
  const HeardBands whole = joined({part(0.03, 1e-4, {1000, 2000}), part(0.0302, 1e-4, {1000})});
  REQUIRE(whole.bands.size() == 1);  // the second part lacks 2 kHz
  CHECK(whole.bands[0].frequency_hz == 1000);
  CHECK_THAT(whole.bands[0].ratio.value.real(), WithinAbs(0.0301, 1e-9));
  CHECK_THAT(whole.bands[0].ln_level, WithinAbs(-2, 1e-9));
  const HeardBands alone = joined(std::vector<HeardBands>{part(0.03, 1e-4, {500})});
  CHECK(alone.bands.size() == 1);
}
