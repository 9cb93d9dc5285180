// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/direction.hpp"

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

void reverse_one(Step& step) {
  Measurement& r = measurement_of(step);
  for (auto* leak : {&r.crosstalk.right_into_left, &r.crosstalk.left_into_right}) {
    (*leak)->same_passage.value = -(*leak)->same_passage.value;
    (*leak)->re = -*(*leak)->re;
    (*leak)->im = -*(*leak)->im;
  }
  r.crosstalk_spectrum = {r.crosstalk};
  for (Passage& p : r.passages) {
    if (p.relation) p.relation = *p.relation == Relation::kAntiphase ? Relation::kInPhase : Relation::kAntiphase;
  }
}

/// Swapped channels change the name of each band, and the passages stay in the order of the record.
void swap_one(Step& step) { swap_channels_of(step); }

constexpr double kTilts[] = {-1.4, 1.1, 0.6};

Session unlogged(std::uint64_t seed, std::vector<Band> bands, std::size_t steps = 3) {
  rig::Draw draw(seed);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {kTilts, kTilts + steps}, 1e-6, draw, std::nullopt);
  for (Step& step : session.steps) step.log.tilt_deg.reset();
  session.facts.bands = std::move(bands);
  return session;
}

double turn_of(std::uint64_t seed, std::size_t steps = 3) {
  rig::Draw draw(seed);
  return rig::least_truth_deg(rig::random_rig(draw)) - kTilts[steps - 1];
}

const std::vector<Band> kAllBands{Band::kLeft, Band::kRight, Band::kLateral};

}  // namespace

TEST_CASE("With stated bands, the direction is right for all wirings of the session") {
  for (std::uint64_t seed = 1; seed <= 10; ++seed) {
    for (int fault = 0; fault < 4; ++fault) {
      INFO("seed " << seed << ", fault " << fault);
      Session session = unlogged(seed, kAllBands);
      for (Step& step : session.steps) {
        if (fault & 1) reverse_one(step);
        if (fault & 2) swap_one(step);
      }
      const Solution s = solve(session, {});
      CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(turn_of(seed), 0.003));  // noise of 1e-6, and 0.3 dB of the levels
      CHECK(s.tilt_response.sense == Sense::kAsLogged);
      CHECK_FALSE(says(s.warnings, WarningCode::kDirectionUnknown));
    }
  }
}

TEST_CASE("With stated bands, one recording of other wiring is corrected, even of two") {
  for (const std::size_t steps : {std::size_t{2}, std::size_t{3}}) {
    for (int fault = 1; fault < 4; ++fault) {
      for (std::size_t odd = 0; odd < steps; ++odd) {
        INFO(steps << " steps, fault " << fault << " of step " << odd);
        Session session = unlogged(4, kAllBands, steps);
        if (fault & 1) reverse_one(session.steps[odd]);
        if (fault & 2) swap_one(session.steps[odd]);
        const Solution s = solve(session, {});
        CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(turn_of(4, steps), 0.003));
        CHECK(s.tilt_response.sense == Sense::kAsLogged);
        CHECK(says(s.warnings, fault & 1 ? WarningCode::kPolarityReversed : WarningCode::kSwappedOrReversed));
      }
    }
  }
}

TEST_CASE("Without bands, or without one that shows the polarity, the turn's size is known and its direction is not") {
  for (const std::vector<Band>& bands : {std::vector<Band>{}, {Band::kLeft, Band::kRight}, {Band::kLateral}}) {
    const Solution s = solve(unlogged(5, bands), {});
    CHECK(says(s.warnings, WarningCode::kDirectionUnknown));
    CHECK(s.tilt_response.sense == Sense::kUndecided);
    CHECK_FALSE(s.shim.raises.has_value());
    CHECK_THAT(std::abs(s.least_crosstalk.tilt_deg), WithinAbs(std::abs(turn_of(5)), 0.003));
  }
}

TEST_CASE("A recording that lacks a both-channel passage, or has one of unclear phase, leaves the direction open") {
  Session lacks = unlogged(6, kAllBands);
  measurement_of(lacks.steps[1]).passages.pop_back();
  CHECK(says(solve(lacks, {}).warnings, WarningCode::kDirectionUnknown));
  Session more = unlogged(6, kAllBands);
  auto& passages = measurement_of(more.steps[2]).passages;
  passages.insert(passages.begin(), passages.front());  // three one-channel bands, and two are stated
  CHECK(says(solve(more, {}).warnings, WarningCode::kDirectionUnknown));
  Session unclear = unlogged(6, kAllBands);
  for (Step& step : unclear.steps) {
    Measurement& m = measurement_of(step);
    const Complex turn = std::polar(1.0, radians(-80.0));
    for (auto* leak : {&m.crosstalk.right_into_left, &m.crosstalk.left_into_right}) {
      const bool into_left = leak == &m.crosstalk.right_into_left;
      const Complex by = into_left ? 1.0 / turn : turn;  // a delay between the channels
      (*leak)->same_passage.value *= by;
    }
    m.crosstalk_spectrum = {m.crosstalk};
  }
  CHECK(says(solve(unclear, {}).warnings, WarningCode::kDirectionUnknown));
}

TEST_CASE("A turn that cannot be distinguished from zero names no side") {
  rig::Draw draw(7);
  const rig::Rig r = rig::random_rig(draw);
  const auto at = [&](double last_deg, double u) {
    Session session = session_of(r, {last_deg - 1.5, last_deg}, u, draw, std::nullopt);
    for (Step& step : session.steps) step.log.tilt_deg.reset();
    session.facts.bands = kAllBands;
    return solve(session, {});
  };
  const double start = rig::least_truth_deg(r);
  const double best = start + at(start, 1e-7).recommended.tilt_deg;
  const Solution s = at(best, 1e-4);
  REQUIRE(s.recommended.interval95_deg[0] < 0);
  REQUIRE(s.recommended.interval95_deg[1] > 0);
  CHECK_FALSE(s.shim.raises.has_value());
  CHECK_FALSE(s.now.value().direction.has_value());
}
