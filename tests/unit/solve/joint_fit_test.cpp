// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/joint_fit.hpp"

#include "evenwall/error.hpp"
#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"
#include "support/statistics.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

const std::vector<double> kOneApart_deg{-2, -1, 0, 1, 2};

Session plain(std::uint64_t seed, const std::vector<Band>& bands) {
  rig::Draw draw(seed);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, kOneApart_deg, 1e-5, draw, 0.0);
  session.facts.bands = bands;
  return session;
}

const std::vector<Band> kBands{Band::kLeft, Band::kRight, Band::kLateral};

/// Changes the session as a recorder with swapped inputs would.
void swap_in_capture(Session& session) {
  for (Step& step : session.steps) swap_channels_of(step);
}

/// Changes the session as a channel of reversed polarity would: ratios change sign, the lateral band plays in antiphase.
void reverse_polarity(Session& session) {
  for (Step& step : session.steps) {
    Measurement& r = measurement_of(step);
    for (auto* leak : {&r.crosstalk.right_into_left, &r.crosstalk.left_into_right}) {
      (*leak)->same_passage.value = -(*leak)->same_passage.value;
      (*leak)->re = -*(*leak)->re;
      (*leak)->im = -*(*leak)->im;
    }
    r.crosstalk_spectrum = {r.crosstalk};
    for (Passage& p : r.passages) {
      if (p.relation) p.relation = Relation::kAntiphase;
    }
  }
}

void reverse_log(Session& session) {
  for (Step& step : session.steps) step.log.tilt_deg = -*step.log.tilt_deg;
}

}  // namespace

TEST_CASE("If the record's order is known, all eight cases of log sense, channel order and polarity are solved correctly") {
  const Solution truth = solve(plain(11, kBands), {});
  for (int fault = 0; fault < 8; ++fault) {
    Session session = plain(11, kBands);
    const bool swapped = fault & 1, polarity = fault & 2, reversed = fault & 4;
    if (polarity) reverse_polarity(session);
    if (swapped) swap_in_capture(session);
    if (reversed) reverse_log(session);
    const Solution s = solve(session, {});
    INFO("channels swapped " << swapped << ", polarity reversed " << polarity << ", log reversed " << reversed);
    CHECK(says(s.warnings, WarningCode::kPolarityReversed) == polarity);
    CHECK(says(s.warnings, WarningCode::kSwappedOrReversed) == (swapped || reversed));
    CHECK(s.tilt_response.sense == (reversed ? Sense::kReversed : Sense::kAsLogged));
    CHECK_THAT(s.recommended.tilt_deg, WithinAbs(truth.recommended.tilt_deg, 0.001));
    CHECK_THAT(*s.recommended.tilt_units, WithinAbs((reversed ? -1 : 1) * truth.recommended.tilt_deg, 0.03));
  }
}

TEST_CASE("Without the record's order, wrong slopes leave the sense undecided, no side is named, and the log's own scale is kept") {
  const Solution truth = solve(plain(12, {}), {});
  CHECK(truth.tilt_response.sense == Sense::kAsLogged);
  for (const int fault : {1, 2, 4}) {
    Session session = plain(12, {});
    if (fault == 1) swap_in_capture(session);
    if (fault == 2) reverse_polarity(session);
    if (fault == 4) reverse_log(session);
    const Solution s = solve(session, {});
    INFO("fault " << fault);
    CHECK(s.tilt_response.sense == Sense::kUndecided);
    CHECK_FALSE(s.shim.raises);
    CHECK_FALSE(s.shim.place_shim_at);
    CHECK_THAT(s.recommended.tilt_deg, WithinAbs((fault == 4 ? -1 : 1) * truth.recommended.tilt_deg, 0.01));
    CHECK(says(s.warnings, fault == 2 ? WarningCode::kPolarityReversed : WarningCode::kSwappedOrReversed));
  }
}

TEST_CASE("Antiphase with correct slopes is taken for a vertical band and not for a fault") {
  Session session = plain(13, {});
  rig::Draw draw(13);
  for (Step& step : session.steps) {
    for (Passage& p : measurement_of(step).passages) {
      if (p.relation) p.relation = Relation::kAntiphase;
    }
  }
  const Solution s = solve(session, {});
  CHECK(s.tilt_response.sense == Sense::kAsLogged);
  CHECK_FALSE(says(s.warnings, WarningCode::kPolarityReversed));
}

TEST_CASE("If the log is in turns, the signal determines the degrees per turn") {
  rig::Draw draw(14);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2.6, -1.3, 0, 1.3, 2.6}, 1e-5, draw, std::nullopt);
  double turns = -2;
  for (Step& step : session.steps) {
    step.log.tilt_deg.reset();
    step.log.tilt_units = turns++;
  }
  const Solution s = solve(session, {});
  CHECK_THAT(s.tilt_response.degrees_per_unit, WithinAbs(1.3, 0.0065));  // within 0.5 %
  CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(rig::least_truth_deg(r), 0.005));
  CHECK_THAT(*s.recommended.tilt_units, WithinAbs(s.recommended.tilt_deg / 1.3, 0.005));
}

TEST_CASE("One step that is logged in turns gives a move from that step") {
  rig::Draw draw(15);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {0.4}, 1e-5, draw, std::nullopt);
  session.steps[0].log.tilt_deg.reset();
  session.steps[0].log.tilt_units = 3;
  const Solution s = solve(session, {});
  CHECK_FALSE(s.recommended.tilt_units);
  CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(rig::least_truth_deg(r) - 0.4, 0.02));
}

TEST_CASE("A session without usable steps is refused, and one unreadable step is excluded and named") {
  Session session = plain(16, kBands);
  session.steps[2] = {LogEntry{.capture = "gone.wav"}, ReadingError{ReadingFault::kStepUnreadable, "gone.wav: no such file"}};
  const Solution s = solve(session, {});
  CHECK(says(s.warnings, WarningCode::kStepUnreadable));
  CHECK(s.steps.size() == 4);
  CHECK_THAT(s.recommended.tilt_deg, WithinAbs(solve(plain(16, kBands), {}).recommended.tilt_deg, 0.002));
  for (Step& step : session.steps) step.result = ReadingError{ReadingFault::kStepUnreadable, "broken"};
  CHECK_THROWS_AS(solve(session, {}), Error);
}

TEST_CASE("A reversed log is detected with two and three steps, whether the gauge is stated or not") {
  for (const std::vector<double>& tilts : {std::vector<double>{0, 1, 2}, {-2, 0, 2}, {0, 1.5}}) {
    for (const OptionalNumber gauge : {OptionalNumber(0.05), OptionalNumber()}) {
      rig::Draw draw(17);
      const rig::Rig r = rig::random_rig(draw);
      Session session = session_of(r, tilts, 3e-5, draw, gauge);
      session.facts.bands = kBands;
      const double right = solve(session, {}).recommended.tilt_deg;
      reverse_log(session);
      const Solution s = solve(session, {});
      INFO(tilts.size() << " steps, gauge " << gauge.value_or(-1));
      CHECK(s.tilt_response.sense == Sense::kReversed);
      CHECK_THAT(s.recommended.tilt_deg, WithinAbs(right, 1e-6));
      session.facts.bands.clear();
      CHECK(solve(session, {}).tilt_response.sense == Sense::kUndecided);
    }
  }
}

TEST_CASE("If the sense is undecided, the phase remains as measured") {
  Session session = plain(18, {});
  const double seen_deg = *measurement_of(session.steps[0]).interchannel_phase_deg;
  reverse_log(session);
  CHECK_THAT(*solve(session, {}).balance.interchannel_phase_deg, WithinAbs(seen_deg, 1.5));  // couplings of 1e-2 separate the two
}

TEST_CASE("If the gauge scale and the cut levels are stated as exact, the answer remains the same") {
  Session session = plain(19, kBands);
  const double usual = solve(session, {}).recommended.tilt_deg;
  session.facts.gauge_scale_u = 0;
  session.facts.cut_level_u_db = 0;
  CHECK_THAT(solve(session, {}).recommended.tilt_deg, WithinAbs(usual, 0.005));
}

TEST_CASE("Four recordings at one tilt give the true answer, with the warnings of a single setting") {
  rig::Draw draw(20);
  const rig::Rig r = rig::random_rig(draw);
  const Session session = session_of(r, {0.5, 0.5, 0.5, 0.5}, 1e-5, draw, std::nullopt);
  const Solution s = solve(session, {});
  CHECK(says(s.warnings, WarningCode::kGaugeAssumed));
  CHECK(says(s.warnings, WarningCode::kFewSteps));
  CHECK_FALSE(s.balance.from_tilt_response_db);  // one setting shows no response
  CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(rig::least_truth_deg(r), 0.03));
}

TEST_CASE("Crosstalk that no tilt explains gives a finite answer, or the data are refused") {
  int answered = 0, refused = 0;
  for (std::uint64_t seed = 1; seed <= drawn(120U); ++seed) {
    rig::Draw draw(seed);
    const auto tilts = seed % 2 == 0 ? std::vector<double>{-1, 0, 1} : std::vector<double>{-2, -1, 0, 1, 2};
    Session session = session_of(rig::random_rig(draw), tilts, 1e-5, draw, 0.0);
    for (LeakPair& pair : measurement_of(session.steps[seed % 3]).crosstalk_spectrum) {
      pair.left_into_right->same_passage.value = std::polar(0.02 * static_cast<double>(1 + seed % 7), 0.3 * static_cast<double>(seed));
    }
    INFO("seed " << seed);
    try {
      const Solution s = solve(session, {});
      CHECK(std::abs(s.least_crosstalk.tilt_deg) <= kMostTilt_deg);
      CHECK(std::isfinite(s.balance.from_tilt_response_db.value_or(0)));
      ++answered;
    } catch (const Error& error) {
      CHECK(error.kind() == ErrorKind::kData);
      ++refused;
    }
  }
  if (few_sessions()) return;
  CHECK(answered > 0);
  CHECK(refused > 0);
}
