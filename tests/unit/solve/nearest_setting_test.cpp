// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/nearest_setting.hpp"

#include <algorithm>

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;

namespace {

Session with_settings(const rig::Rig& r, rig::Draw& draw, Adjuster adjuster) {
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-6, draw, 0.0);
  session.facts.settings = std::move(adjuster);
  return session;
}

double total_db(const rig::Rig& r, double tilt_deg) {
  return 10 * std::log10(0.5 * (std::norm(rig::leak_rl(r, tilt_deg)) + std::norm(rig::leak_lr(r, tilt_deg))));
}

bool warned(const Solution& s) {
  return std::any_of(s.warnings.begin(), s.warnings.end(), [](const Warning& w) { return w.code == WarningCode::kNoReachableSetting; });
}

}  // namespace

TEST_CASE("The nearest reachable number is a multiple of the step, or one of the stops, within the bounds") {
  const auto nearest = [](const Adjuster& adjuster, double wanted, Interval bounds = {-100, 100}) {
    return internal::solve::nearest_reachable(adjuster, wanted, bounds);
  };
  CHECK(nearest({0.25, {}}, 0.3) == 0.25);
  CHECK(nearest({0.25, {}}, -0.4) == -0.5);
  CHECK(nearest({0.25, {}}, 0.375) == 0.25);  // halfway: the lower one
  CHECK(nearest({0.25, {}}, -0.1) == 0.0);
  CHECK_FALSE(std::signbit(*nearest({0.25, {}}, -0.1)));
  CHECK(nearest({0.25, {}}, 0.9, {-0.1, 0.6}) == 0.5);
  CHECK_FALSE(nearest({0.25, {}}, 0.9, {0.55, 0.7}));
  const Adjuster stops{std::nullopt, {2, -1, 0.5, -1}};
  CHECK(nearest(stops, 0.1) == 0.5);
  CHECK(nearest(stops, -0.3) == -1);
  CHECK(nearest(stops, 9) == 2);
  CHECK(nearest(stops, -0.25) == -1);
  CHECK(nearest(stops, 9, {-1, 1}) == 0.5);
  CHECK_FALSE(nearest(stops, 9, {3, 4}));
}

TEST_CASE("The nearest setting lies within the contact limit, and a warning states that there is none") {
  rig::Draw draw(94);
  const rig::Rig r = rig::random_rig(draw);
  const double best = solve(with_settings(r, draw, {0.01, {}}), {}).recommended.tilt_deg;
  const double outward = best < 0 ? -1 : 1;
  SolveOptions options;
  options.tilt_limit_deg = std::abs(best) + 0.2;
  const Solution s = solve(with_settings(r, draw, {std::nullopt, {best + 0.3 * outward, best - 0.6 * outward}}), options);
  REQUIRE(s.nearest_setting);
  CHECK_THAT(s.nearest_setting->setting, WithinAbs(best - 0.6 * outward, 1e-9));
  CHECK_FALSE(warned(s));
  const Solution none = solve(with_settings(r, draw, {std::nullopt, {best + 0.3 * outward}}), options);
  CHECK_FALSE(none.nearest_setting);
  CHECK(warned(none));
}

TEST_CASE("The nearest setting states its azimuth, its distance and its cost, and the trade-off has a row for it") {
  rig::Draw draw(91);
  for (int i = 0; i < 10; ++i) {
    const rig::Rig r = rig::random_rig(draw);
    const Session session = with_settings(r, draw, {0.5, {}});
    const Solution s = solve(session, {});
    INFO("rig " << i);
    REQUIRE(s.nearest_setting);
    CHECK(std::abs(s.nearest_setting->from_recommended_deg) <= 0.25 + 1e-3);
    CHECK_THAT(std::remainder(s.nearest_setting->setting, 0.5), WithinAbs(0, 1e-12));
    CHECK_THAT(s.nearest_setting->tilt_deg, WithinAbs(s.nearest_setting->setting, 1e-3));  // the gauge is right
    CHECK_THAT(s.nearest_setting->cost_db, WithinAbs(total_db(r, s.nearest_setting->tilt_deg) - total_db(r, s.recommended.tilt_deg), 0.05));
    const TradeOffRow& row = s.trade_off.at(s.trade_off.size() - 2);
    CHECK(row.name == Candidate::kNearestSetting);
    CHECK(row.tilt_deg == s.nearest_setting->tilt_deg);
    CHECK_FALSE(row.u_deg);
  }
}

TEST_CASE("Settings in the unit of a ruler are reached by the ruler's scale and sense") {
  rig::Draw draw(92);
  const rig::Rig r = rig::random_rig(draw);
  Session session;
  session.facts.settings = Adjuster{std::nullopt, {-3, -1, 1, 3}};
  int index = 0;
  for (const double turns : {-3.0, -1.0, 1.0, 3.0}) {
    Step step = rig::step(r, -0.8 * turns, 0, 1e-6, draw, ++index);
    step.log.tilt_deg.reset();
    step.log.tilt_units = turns;
    session.steps.push_back(step);
  }
  const Solution s = solve(session, {});
  REQUIRE(s.nearest_setting);
  const double wanted = *s.recommended.tilt_units;
  for (const double stop : {-3.0, -1.0, 1.0, 3.0}) CHECK(std::abs(s.nearest_setting->setting - wanted) <= std::abs(stop - wanted));
  // No band shows the sense, so azimuths count in the sense of the log.
  CHECK_THAT(s.tilt_response.degrees_per_unit, WithinAbs(0.8, 1e-3));
  CHECK_THAT(s.nearest_setting->from_recommended_deg, WithinAbs(0.8 * (s.nearest_setting->setting - wanted), 2e-3));
  // Without a log there is no number to set.
  for (Step& step : session.steps) step.log.tilt_units.reset();
  const Solution without = solve(session, {});
  CHECK_FALSE(without.nearest_setting);
  CHECK(warned(without));
}

TEST_CASE("At the nearest setting the work is done, although the recommended azimuth is out of reach") {
  rig::Draw draw(93);
  const rig::Rig r = rig::random_rig(draw);
  Session session = with_settings(r, draw, {std::nullopt, {}});
  session.facts.settings.reset();
  const double best = solve(session, {}).recommended.tilt_deg;
  session.facts.settings = Adjuster{std::nullopt, {best - 0.3, best + 0.9}};
  const auto with_last = [&](double tilt_deg) {
    Session more = session;
    Step verify = rig::step(r, tilt_deg, tilt_deg, 1e-6, draw, 9);
    verify.log.use = StepUse::kVerify;
    more.steps.push_back(verify);
    return solve(more, {});
  };
  const Solution there = with_last(best - 0.3);
  CHECK(there.verdict->state == VerdictState::kEnough);
  CHECK(there.verdict->text.find("the adjuster's setting nearest to the recommended azimuth (0.300° from") != std::string::npos);
  const Solution away = with_last(best + 0.9);
  CHECK(away.verdict->state == VerdictState::kTurn);
  CHECK(away.verdict->text.find("The adjuster's nearest setting is") != std::string::npos);
}
