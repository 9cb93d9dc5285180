// SPDX-License-Identifier: GPL-3.0-or-later
// Checks facts of the disc: which wall is which (IEC 60098:2020, 6.2, seen in an excerpt), the replay curve, the speed, tangents and shims.
// The simulator and the analysis are each compared with these facts separately, so that two wrong signs cannot cancel.
#include <cmath>
#include <complex>
#include <numbers>

#include "evenwall/measure.hpp"
#include "evenwall/solve.hpp"
#include "measure/listen.hpp"
#include "simulate/groove.hpp"
#include "simulate/playback.hpp"
#include "solve/advice.hpp"
#include "solve/geometry.hpp"
#include "support/catch.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;
using namespace evenwall::internal::simulate;
using namespace evenwall::internal::solve;

namespace {

// Seen from the front of the cartridge, x to the viewer's right, y up: the spindle is on the viewer's left. The groove is a V of 90° (6.1),
// so the inner wall, on the left, rises to the left and faces right and up; the outer wall faces left and up.
constexpr double kH = std::numbers::sqrt2 / 2;
constexpr Vector2 kInnerWallFaces{kH, kH};
constexpr Vector2 kOuterWallFaces{-kH, kH};

double dot(Vector2 a, Vector2 b) { return a[0] * b[0] + a[1] * b[1]; }

}  // namespace

TEST_CASE("In the simulator, left moves along the normal of the inner wall, right along that of the outer wall, and lateral is in phase") {
  const SimulatedRecord record;
  const Vector2 left = stylus_motion(Band::kLeft, record);
  const Vector2 right = stylus_motion(Band::kRight, record);
  CHECK_THAT(std::abs(dot(left, kInnerWallFaces)), WithinAbs(1, 1e-15));  // 6.2.1
  CHECK_THAT(dot(left, kOuterWallFaces), WithinAbs(0, 1e-15));
  CHECK_THAT(std::abs(dot(right, kOuterWallFaces)), WithinAbs(1, 1e-15));
  CHECK_THAT(dot(right, kInnerWallFaces), WithinAbs(0, 1e-15));
  // 6.2.2: sideways motion of the stylus gives outputs in phase if the cartridge is upright, and 6.2.3 requires equal levels. Vertical
  // motion gives outputs in antiphase.
  const Outputs sideways = generator_outputs({1, 0}, 0, 1000, {});
  CHECK_THAT(std::abs(sideways.left / sideways.right - 1.0), WithinAbs(0, 1e-15));
  CHECK_THAT(stylus_motion(Band::kLateral, record)[1], WithinAbs(0, 1e-15));
  CHECK(std::abs(stylus_motion(Band::kLateral, record)[0]) > 1);
  CHECK_THAT(stylus_motion(Band::kVertical, record)[0], WithinAbs(0, 1e-15));
  CHECK(std::abs(stylus_motion(Band::kVertical, record)[1]) > 1);
  const Outputs upward = generator_outputs({0, 1}, 0, 1000, {});
  CHECK_THAT(std::abs(upward.left / upward.right + 1.0), WithinAbs(0, 1e-15));
}

TEST_CASE("A clockwise tilt in the simulator turns the axes of the coils and not the record") {
  // Calculated by hand: a tilt of 1° clockwise turns the left channel's axis from 45° to 44° over the horizontal and the right one's from
  // −45° to −46°. A right-only groove at −45° then gives the left coil cos 89° in phase with the right coil's cos 1°; a left-only one gives
  // the right coil cos 91°.
  const SimulatedRecord record;
  const Outputs right = generator_outputs(stylus_motion(Band::kRight, record), 1, 1000, {});
  const Outputs left = generator_outputs(stylus_motion(Band::kLeft, record), 1, 1000, {});
  const auto cosine = [](double deg) { return std::cos(deg * std::numbers::pi / 180); };
  CHECK_THAT((right.left / right.right).real(), WithinAbs(cosine(89) / cosine(1), 1e-15));
  CHECK_THAT((left.right / left.left).real(), WithinAbs(cosine(91) / cosine(1), 1e-15));
}

namespace {

/// Tones of a perfect cartridge with a tilt of `tilt_deg` clockwise, from the calculation above and no code of the program. `shared` is a
/// gain of both channels that represents everything they share.
MemorySource capture(double tilt_deg, bool vertical, double frequency_hz, Complex shared) {
  const double t = tilt_deg * std::numbers::pi / 180;
  const double c = std::cos(t), s = std::sin(t);
  const Complex a = 0.1 * shared;
  Canvas canvas(48000, 20);
  canvas.tone(2, 5, frequency_hz, a * c, -a * s);  // left only
  canvas.tone(8, 5, frequency_hz, a * s, a * c);   // right only
  if (vertical)
    canvas.tone(14, 4, frequency_hz, a * (c - s), a * (-s - c));
  else
    canvas.tone(14, 4, frequency_hz, a * (c + s), a * (c - s));
  return canvas.noise(1e-5, 5).source();
}

Session session_at(const std::vector<double>& true_deg, const std::vector<double>& logged_deg) {
  Session session;
  session.facts.bands = {Band::kLeft, Band::kRight, Band::kLateral};
  session.facts.gauge_u_deg = 0.01;
  for (std::size_t i = 0; i < true_deg.size(); ++i) {
    auto source = capture(true_deg[i], false, 1000, 1);
    LogEntry log;
    log.capture = "step-" + std::to_string(i + 1);
    log.tilt_deg = logged_deg[i];
    session.steps.push_back({log, measure(source, {})});
  }
  return session;
}

}  // namespace

TEST_CASE("The analysis takes sideways motion for lateral, and motion up and down for vertical") {
  auto lateral = capture(0, false, 1000, 1);
  CHECK(measure(lateral, {}).passages.at(2).relation == Relation::kInPhase);
  auto vertical = capture(0, true, 1000, 1);
  CHECK(measure(vertical, {}).passages.at(2).relation == Relation::kAntiphase);
}

TEST_CASE("For a cartridge that is tilted clockwise, the analysis advises an anticlockwise move and a shim on the spindle side") {
  // With one capture the signs alone determine the direction.
  const Solution one = solve(session_at({1}, {0}), {});
  CHECK_THAT(one.least_crosstalk.tilt_deg, WithinAbs(-1, 1e-3));
  // Three captures with a gauge that has its zero at 1° clockwise.
  const Solution three = solve(session_at({-0.5, 1, 2.5}, {-1.5, 0, 1.5}), {});
  CHECK_THAT(three.least_crosstalk.tilt_deg, WithinAbs(-1, 1e-3));
  for (const Solution* s : {&one, &three}) {
    // An anticlockwise turn raises the outer side (the viewer's right). The washer lowers its side, so it belongs on the viewer's left.
    CHECK(s->shim.raises == Side::kOuterSide);
    CHECK(s->shim.place_shim_at == Side::kSpindleSide);
    CHECK_THAT(*s->shim.height_mm, WithinAbs(0.221679324588363, 3e-4));
    CHECK(s->warnings.end() == std::find_if(s->warnings.begin(), s->warnings.end(), [](const Warning& w) {
            return w.code == WarningCode::kSwappedOrReversed || w.code == WarningCode::kPolarityReversed;
          }));
  }
}

namespace {

/// RIAA replay curve from its three time constants, divided by its magnitude at 1 kHz.
Complex riaa(double frequency_hz) {
  const auto raw = [](double f) {
    const Complex s(0, 2 * std::numbers::pi * f);
    return (1.0 + s * 318e-6) / ((1.0 + s * 3180e-6) * (1.0 + s * 75e-6));
  };
  return raw(frequency_hz) / std::abs(raw(1000));
}

}  // namespace

TEST_CASE("A crosstalk ratio does not depend on the replay curve") {
  // GOST 11157-87, table 7 (seen in an excerpt) below 200 Hz, RIAA's printed table (from memory) above.
  constexpr double printed[][2] = {{20, 19.3},  {40, 17.8},   {50, 16.9},   {80, 14.5},    {100, 13.1},    {200, 8.2},     {500, 2.6},
                                   {1000, 0.0}, {2000, -2.6}, {5000, -8.2}, {8000, -11.9}, {10000, -13.7}, {15000, -17.2}, {20000, -19.6}};
  for (const auto& row : printed) CHECK_THAT(decibels(std::abs(riaa(row[0]))), WithinAbs(row[1], 0.0501));
  // Trap: sox's `riaa` is wrong by 0.4 dB at 44.1 kHz, and DIN 45544's −5.32 dB at 315 Hz differs by 0.14 dB from the cut level. The
  // formula is therefore the reference.
  for (const double f : {315.0, 1000.0, 6300.0}) {
    auto flat = capture(1, false, f, 1);
    auto curved = capture(1, false, f, riaa(f));
    const Measurement a = measure(flat, {});
    const Measurement b = measure(curved, {});
    INFO(f << " Hz");
    // Noise of 1e-5 against 0.1 and less over 240,000 samples gives 3e-7 of a ratio, and more if the curve lowers the tone by 12 dB.
    CHECK(std::abs(a.crosstalk.right_into_left->same_passage.value - b.crosstalk.right_into_left->same_passage.value) < 5e-6);
    CHECK(std::abs(a.crosstalk.left_into_right->same_passage.value - b.crosstalk.left_into_right->same_passage.value) < 5e-6);
    CHECK_THAT(b.passages[0].level_left_dbfs - a.passages[0].level_left_dbfs, WithinAbs(decibels(std::abs(riaa(f))), 1e-3));
  }
}

TEST_CASE("33⅓ revolutions a minute are 5/9 Hz, 45 are 0.75 Hz") {
  CHECK_THAT(kNominalRpm / 60, WithinRel(5.0 / 9, 1e-15));
  CHECK_THAT(SimulatedRecord{}.rpm / 60, WithinRel(5.0 / 9, 1e-15));
  // The simulator's record completes one revolution after 1.8 s, 79,380 samples at 44.1 kHz.
  const GrooveBand band{{}, 0, 0};
  CHECK_THAT(record_angle_rad(band, {}, 79380 / 44100.0), WithinRel(2 * std::numbers::pi, 1e-14));
  SimulatedRecord single;
  single.rpm = 45;
  CHECK_THAT(record_angle_rad(band, single, 4.0 / 3), WithinRel(2 * std::numbers::pi, 1e-14));
  // The analysis measures crosstalk that swings 5/9 times per second as one swing per revolution at 33⅓, and not at 45.
  constexpr double kSwing = 0.01;
  Canvas canvas(44100, 12);
  canvas.tone(1, 10, 1000, 0.2, 0.2 * 0.02);
  canvas.tone(1, 10, 1000 + 5.0 / 9, 0, 0.2 * kSwing / 2).tone(1, 10, 1000 - 5.0 / 9, 0, 0.2 * kSwing / 2);
  canvas.noise(1e-6, 3);  // silence would have no scale
  const ToneStretch stretch{Driven::kLeft, 1, 11, 1000};
  auto source = canvas.source();
  const auto right = listen(source, stretch, 100.0 / 3);
  const auto wrong = listen(source, stretch, 45);
  REQUIRE(right);
  REQUIRE(wrong);
  const auto swing = [](const HeardPassage& p) {
    return std::hypot(std::abs(p.once_per_revolution[0]), std::abs(p.once_per_revolution[1]));
  };
  CHECK_THAT(swing(*right), WithinRel(kSwing, 1e-3));  // Hann frames of 21 ms reduce a swing of 5/9 Hz by 3e-4
  CHECK(std::abs(right->ratio.value - 0.02) < 1e-6);
  CHECK(swing(*wrong) < 0.3 * kSwing);
}

TEST_CASE("The crosstalk of a perfect cartridge is the tangent of its tilt") {
  // 20·log10(tan θ), mpmath, 30 digits.
  constexpr double table[][3] = {{0.01, 0.000174532926971625, -75.1624525599877}, {0.1, 0.0017453310241888, -55.1624438285995},
                                 {0.25, 0.00436335082070157, -47.2035973521376},  {0.5, 0.00872686779075879, -41.1828320681042},
                                 {1, 0.0174550649282176, -35.1615706277274},      {1.5, 0.0261859215691869, -31.6386427446868},
                                 {2, 0.0349207694917477, -29.1383239005104},      {3, 0.0524077792830412, -25.6120848523341},
                                 {5, 0.087488663525924, -21.1609643537476},       {10, 0.176326980708465, -15.0736245791667},
                                 {30, 0.577350269189626, -4.77121254719662}};
  for (const auto& row : table) {
    INFO(row[0] << " degrees");
    const Response r = response_at(radians(row[0]), {});
    const Complex rl = r.left_from_right.value / r.right_from_right.value;
    const Complex lr = r.right_from_left.value / r.left_from_left.value;
    CHECK_THAT(rl.real(), WithinRel(row[1], 1e-14));
    CHECK_THAT(lr.real(), WithinRel(-row[1], 1e-14));
    CHECK_THAT(decibels(std::abs(rl)), WithinAbs(row[2], 1e-12));
    const Outputs played = generator_outputs(stylus_motion(Band::kRight, {}), row[0], 1000, {});
    CHECK_THAT((played.left / played.right).real(), WithinRel(row[1], 1e-12));  // two 45° axes nearly cancel
  }
  // Angles of round levels.
  constexpr double angles[][2] = {{-20, 5.71059313749964}, {-30, 1.81124804732797}, {-35, 1.01877167099349}, {-40, 0.572938697683486}};
  for (const auto& row : angles) CHECK_THAT(degrees(std::atan(amplitude_ratio(row[0]))), WithinRel(row[1], 1e-14));
}

TEST_CASE("Shim heights across half an inch follow from the angle") {
  // mpmath: 12.7 mm · tan 1° and the angles of shims 0.1 and 0.025 mm high.
  constexpr double table[][2] = {{1, 0.221679324588363}, {0.451138546787281, 0.1}, {0.112786821862319, 0.025}};
  for (const auto& row : table) {
    CHECK_THAT(*shim_of(row[0], 0, Sense::kAsLogged, {}, {}).height_mm, WithinRel(row[1], 1e-12));
    CHECK_THAT(*shim_of(-row[0], 0, Sense::kAsLogged, {}, {}).height_mm, WithinRel(row[1], 1e-12));
  }
}

TEST_CASE("A neper, a ratio of 1.01 and a delay of one sample are converted correctly to decibels and degrees") {
  CHECK_THAT(kDbPerNeper, WithinRel(8.68588963806504, 1e-14));
  CHECK_THAT(decibels(1.01), WithinRel(0.0864274756528515, 1e-12));
  // One sample of delay at 1 kHz turns the phase by 7.5° at 48 kHz, 8.163° at 44.1 kHz. The simulator's left channel is later by that
  // angle.
  for (const auto& [rate_hz, turn_deg] : {std::pair(48000.0, 7.5), std::pair(44100.0, 8.16326530612245)}) {
    SimulatedCartridge late;
    late.left_delay_s = 1 / rate_hz;
    const Outputs out = chain_outputs({1, 1}, 1000, late);
    CHECK_THAT(phase_deg(out.left / out.right), WithinRel(-turn_deg, 1e-12));
  }
}
