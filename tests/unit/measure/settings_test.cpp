// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/settings.hpp"

#include "evenwall/measure.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

/// A passage of one letter: L, R, B (lateral) or V (vertical), of 4 s, which starts at start_s.
Passage passage(char letter, double start_s, double frequency_hz = 1000) {
  Passage p;
  p.driven = letter == 'L' ? Driven::kLeft : letter == 'R' ? Driven::kRight : Driven::kBoth;
  if (letter == 'B') p.relation = Relation::kInPhase;
  if (letter == 'V') p.relation = Relation::kAntiphase;
  p.start_s = start_s;
  p.end_s = start_s + 4;
  p.frequency_hz = frequency_hz;
  return p;
}

/// The passages of these letters, 5 s from start to start. A space is a pause of 20 s more.
Measurement measurement_of(std::string_view letters) {
  Measurement m;
  double start_s = 1;
  for (const char letter : letters) {
    if (letter != ' ') m.passages.push_back(passage(letter, start_s));
    start_s += letter == ' ' ? 20 : 5;
  }
  m.audio.duration_s = start_s + 3;
  return m;
}

std::vector<double> limits(const std::vector<SettingStretch>& settings) {
  std::vector<double> all;
  for (const SettingStretch& s : settings) all.insert(all.end(), {s.from_s, s.to_s});
  return all;
}

HeardPassage heard(char letter, double start_s, Complex ratio, double u, double frequency_hz = 1000) {
  HeardPassage h;
  h.passage = passage(letter, start_s, frequency_hz);
  h.ratio = {ratio, u, u, 0};
  return h;
}

}  // namespace

TEST_CASE("A setting ends where a band recurs") {
  CHECK(limits(settings_in(measurement_of("LR"), {})) == std::vector<double>{0, 14});
  CHECK(limits(settings_in(measurement_of("LRB LRB"), {})) == std::vector<double>{0, 25.5, 25.5, 54});
  CHECK(settings_in(measurement_of("LRBVLRBVLRBV"), {}).size() == 3);
  CHECK(settings_in(measurement_of("LRLRLR"), {}).size() == 3);
}

TEST_CASE("A band that is broken into pieces does not recur, but one after a pause does") {
  CHECK(settings_in(measurement_of("LLRLR"), {}).size() == 2);
  CHECK(settings_in(measurement_of("LR RL LR"), {}).size() == 3);
}

TEST_CASE("A series with one side only is no setting, and its time is not given to others") {
  CHECK(settings_in(measurement_of("B"), {}).empty());
  CHECK(settings_in(measurement_of(""), {}).empty());
  CHECK(limits(settings_in(measurement_of("LRL"), {})) == std::vector<double>{0, 10.5});
}

TEST_CASE("The stated order of the bands decides if it fits, also if it holds a band twice") {
  const std::vector<Band> bands{Band::kLeft, Band::kRight, Band::kLeft, Band::kLateral};
  CHECK(limits(settings_in(measurement_of("LRLBLRLB"), bands)) == std::vector<double>{0, 20.5, 20.5, 44});
  CHECK(limits(settings_in(measurement_of("LRLBLRLB"), {})) == std::vector<double>{0, 10.5, 20.5, 30.5});
  CHECK(limits(settings_in(measurement_of("LRLBLR"), bands)) == std::vector<double>{0, 10.5, 20.5, 34});  // does not fit
}

TEST_CASE("Tones of several frequencies belong to one setting") {
  Measurement m = measurement_of("LRLRLR");
  m.passages[2].frequency_hz = m.passages[3].frequency_hz = 315;
  CHECK(settings_in(m, {}).size() == 2);
}

TEST_CASE("A band that recurs with another crosstalk is reported with the turn that explains it") {
  const auto warning = several_settings(
      {heard('L', 1, 0.03, 1e-5), heard('R', 6, 0.02, 1e-5), heard('L', 11, {0.03 - 0.01746, 0}, 1e-5), heard('R', 16, 0.021, 1e-5)});
  REQUIRE(warning);
  CHECK(warning->code == WarningCode::kSeveralSettings);
  CHECK(holds(warning->message,
              "the left-only band of 1000.0 Hz recurs, and its crosstalk at 1.0 s and at 11.0 s differs by as much as a turn of 1.00°"));
}

TEST_CASE("Chance, small changes, other bands and other tones are not reported") {
  CHECK_FALSE(several_settings({heard('L', 1, 0.03, 0.002), heard('L', 11, 0.04, 0.002)}));  // 3.5 combined standard uncertainties
  CHECK(several_settings({heard('L', 1, 0.03, 0.001), heard('L', 11, 0.04, 0.001)}));        // 7 of them
  CHECK_FALSE(several_settings({heard('L', 1, 0.03, 1e-6), heard('L', 11, 0.0305, 1e-6)}));  // 0.029°
  CHECK_FALSE(several_settings({heard('L', 1, 0.03, 1e-6), heard('R', 11, 0.05, 1e-6)}));
  CHECK_FALSE(several_settings({heard('B', 1, 1.0, 1e-6), heard('B', 11, 1.1, 1e-6)}));
  CHECK_FALSE(several_settings({heard('L', 1, 0.03, 1e-6, 315), heard('L', 11, 0.05, 1e-6)}));
  CHECK_FALSE(several_settings({}));
}
