// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/third_octave_doubt.hpp"

#include "solve/prepared_fit.hpp"
#include "support/band_rigs.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

/// Three steps with noise, whose crosstalk rises by `by` from each third octave to the next.
Session with_course(double by, PassageKind kind) {
  rig::Draw draw(7);
  const auto rigs = band_rigs::random_band_rig(draw, 29, 31);
  Session session;
  for (int i = 0; i < 3; ++i) {
    session.steps.push_back(band_rigs::step(rigs, i - 1.0, i - 1.0, 1e-6, draw, i + 1));
    Measurement& measured = measurement_of(session.steps.back());
    for (Passage& p : measured.passages) {
      p.kind = kind;
      p.frequency_hz = kind == PassageKind::kTone ? OptionalNumber(1000.0) : std::nullopt;
    }
    double value = 0.01;
    for (LeakPair& pair : measured.crosstalk_spectrum) {
      pair.right_into_left->same_passage.value = {value, 0};
      pair.left_into_right->same_passage.value = {0, value};
      value += by;
    }
  }
  return session;
}

OffsetDoubt doubt_of(const Session& session) {
  SolveOptions options;
  options.frequency_hz = 1000;
  return third_octave_doubt(session, arranged(session, options).observations);
}

}  // namespace

TEST_CASE("Crosstalk that rises through a third octave of noise is uncertain by a share of its rise, and that of a tone is not") {
  // 0.005 · 0.006/√12, half of its square in each part
  CHECK_THAT(doubt_of(with_course(0.006, PassageKind::kNoise)).right_into_left, WithinRel(0.005 * 0.006 / std::sqrt(24.0), 1e-9));
  CHECK_THAT(doubt_of(with_course(0.006, PassageKind::kSweep)).left_into_right, WithinRel(0.005 * 0.006 / std::sqrt(24.0), 1e-9));
  CHECK(doubt_of(with_course(0, PassageKind::kNoise)).right_into_left == 0);
  CHECK(doubt_of(with_course(0.006, PassageKind::kTone)).right_into_left == 0);
}

TEST_CASE("One third octave beside it shows the rise as well as two, and without one there is no uncertainty") {
  Session session = with_course(0.006, PassageKind::kNoise);
  for (Step& step : session.steps) measurement_of(step).crosstalk_spectrum.pop_back();
  CHECK_THAT(doubt_of(session).right_into_left, WithinRel(0.005 * 0.006 / std::sqrt(24.0), 1e-9));
  for (Step& step : session.steps) measurement_of(step).crosstalk_spectrum.erase(measurement_of(step).crosstalk_spectrum.begin());
  CHECK(doubt_of(session).right_into_left == 0);
}
