// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/trade_off.hpp"

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;

namespace {

const TradeOffRow* row_named(const Solution& s, Candidate name) {
  const auto at = std::find_if(s.trade_off.begin(), s.trade_off.end(), [&](const TradeOffRow& row) { return row.name == name; });
  return at == s.trade_off.end() ? nullptr : &*at;
}

}  // namespace

TEST_CASE("The rows of the trade-off equal the crosstalk, phase and balance of the rig at each azimuth") {
  rig::Draw draw(81);
  for (int i = 0; i < 10; ++i) {
    const rig::Rig r = rig::random_rig(draw);
    const Solution s = solve(session_of(r, {-2, -1, 0, 1, 2}, 1e-6, draw, 0.0), {});
    INFO("rig " << i);
    CHECK(s.trade_off.back().name == Candidate::kRecommended);
    CHECK(s.trade_off.back().tilt_deg == s.recommended.tilt_deg);
    for (const TradeOffRow& row : s.trade_off) {
      INFO("row " << static_cast<int>(row.name) << " at " << row.tilt_deg);
      const rig::C rl = rig::leak_rl(r, row.tilt_deg), lr = rig::leak_lr(r, row.tilt_deg);
      CHECK_THAT(row.right_into_left_db, WithinAbs(20 * std::log10(std::abs(rl)), 0.05));
      CHECK_THAT(row.left_into_right_db, WithinAbs(20 * std::log10(std::abs(lr)), 0.05));
      CHECK_THAT(row.difference_db, WithinAbs(row.right_into_left_db - row.left_into_right_db, 1e-9));
      CHECK_THAT(row.total_db, WithinAbs(10 * std::log10(0.5 * (std::norm(rl) + std::norm(lr))), 0.05));
      CHECK_THAT(std::remainder(*row.phase_difference_deg - degrees(std::arg(rl * std::conj(lr))), 360), WithinAbs(0, 0.1));
      const double balance = std::abs(rig::outputs(r, row.tilt_deg, true).left) / std::abs(rig::outputs(r, row.tilt_deg, false).right);
      CHECK_THAT(*row.balance_db, WithinAbs(20 * std::log10(balance), 0.01));
      CHECK_FALSE(row.band_total_db);
    }
  }
}

TEST_CASE("The contact limit and the state as found have rows of their own, and a correction of the record keeps the levels") {
  rig::Draw draw(82);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.01);
  Step found = rig::step(r, 0.5, 0.5, 1e-5, draw, 9);
  found.log.use = StepUse::kAsFound;
  session.steps.push_back(found);
  SolveOptions options;
  options.tilt_limit_deg = 0.01;
  const Solution s = solve(session, options);
  const TradeOffRow* limit = row_named(s, Candidate::kContactLimit);
  REQUIRE(limit);
  CHECK_THAT(std::abs(limit->tilt_deg), WithinAbs(0.01, 1e-9));
  CHECK_FALSE(limit->u_deg);
  const TradeOffRow* as_found = row_named(s, Candidate::kAsFound);
  REQUIRE(as_found);
  CHECK_THAT(as_found->tilt_deg, WithinAbs(0.5, 0.03));
  CHECK_THAT(as_found->right_into_left_db, WithinAbs(s.as_found->right_into_left_db, 0.1));
  options.record_correction = RecordCorrection{"survey.json", "T1, side A", 0.3, 0.01};
  const Solution corrected = solve(session, options);
  const TradeOffRow *before = row_named(s, Candidate::kLeast), *after = row_named(corrected, Candidate::kLeast);
  // The wider interval moves the median over all hypotheses a little.
  CHECK_THAT(after->tilt_deg, WithinAbs(before->tilt_deg - 0.3, 1e-4));
  CHECK_THAT(after->right_into_left_db, WithinAbs(before->right_into_left_db, 1e-2));
}

TEST_CASE("At equal crosstalk the two directions have equal levels, although many accounts of the log give the tilt") {
  rig::Draw draw(83);
  int equal_rows = 0;
  for (int i = 0; i < 20; ++i) {
    const rig::Rig r = rig::random_rig(draw);
    Session session = session_of(r, {-2.1, -1.4, -0.7, 0, 0.7, 1.4}, 1e-4, draw, 0.02);
    double turns = -3;
    for (Step& step : session.steps) {
      step.log.tilt_units = turns++ + 0.08 * draw.normal();
      step.log.tilt_deg.reset();
    }
    const Solution s = solve(session, {});
    const TradeOffRow *equal = row_named(s, Candidate::kEqual), *least = row_named(s, Candidate::kLeast);
    REQUIRE(least);
    if (equal == nullptr) continue;
    ++equal_rows;
    INFO("rig " << i);
    CHECK_THAT(equal->difference_db, WithinAbs(0, 0.01));
    CHECK_THAT(least->total_db, WithinAbs(s.not_correctable.least_rms_crosstalk_db, 1e-9));
    CHECK(equal->total_db >= least->total_db - 1e-6);
  }
  CHECK(equal_rows > 10);
}
