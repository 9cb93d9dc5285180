// SPDX-License-Identifier: GPL-3.0-or-later
// Tests sessions in which something is missing, unequal or wrong.
#include <cmath>
#include <cstdio>

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/recommended_truth.hpp"
#include "support/session_of.hpp"
#include "support/statistics.hpp"

using namespace evenwall;

namespace {

constexpr double kPassage_s = 4.5;

Session measured(const Scenario& scenario, std::uint64_t seed) { return measured_session(SimulatedSession(scenario, seed)); }

double wanted_deg(const Solution& s, const SimulatedTruth& truth) {
  return recommended_truth_deg(s.recommended, truth.least_crosstalk_deg, truth.equal_crosstalk_deg);
}

bool says(const Solution& s, WarningCode code) {
  return std::any_of(s.warnings.begin(), s.warnings.end(), [&](const Warning& w) { return w.code == code; });
}

/// Returns the session with the picked steps only, without a stated gauge.
Session only(Session session, std::initializer_list<std::size_t> picked) {
  std::vector<Step> steps;
  for (const std::size_t i : picked) steps.push_back(session.steps[i]);
  session.steps = steps;
  session.facts.gauge_u_deg.reset();
  return session;
}

}  // namespace

TEST_CASE("Two steps and one step still give an answer, and warnings report that there are few steps") {
  double worst_two = 0, worst_one = 0;
  for (std::uint64_t seed = 300; seed < 300 + drawn(std::uint64_t{10}); ++seed) {
    const SimulatedSession simulated(random_scenario(seed, kPassage_s), seed);
    const Session session = measured_session(simulated);
    INFO("seed " << seed);
    const Solution two = solve(only(session, {1, 3}), {});
    const Solution one = solve(only(session, {2}), {});
    const double off_two = two.recommended.tilt_deg - wanted_deg(two, simulated.truth());
    const double off_one = one.recommended.tilt_deg - wanted_deg(one, simulated.truth());
    worst_two = std::max(worst_two, std::abs(off_two));
    worst_one = std::max(worst_one, std::abs(off_one));
    CHECK(std::abs(off_two) < 0.01);
    CHECK(std::abs(off_one) < 0.02);
    CHECK(says(two, WarningCode::kFewSteps));
    CHECK(says(one, WarningCode::kFewSteps));
    CHECK(says(one, WarningCode::kGaugeAssumed));
    CHECK(one.recommended.u_deg > two.recommended.u_deg);
    CHECK(two.recommended.u_deg > solve(session, {}).recommended.u_deg);
  }
  std::printf("the largest error is %.4f deg with two steps and %.4f deg with one step\n", worst_two, worst_one);
}

TEST_CASE("With one step and an unstated cut level difference of 0.9 dB, the interval contains the true value") {
  for (std::uint64_t seed = 320; seed < 320 + drawn(std::uint64_t{10}); ++seed) {
    Scenario scenario = random_scenario(seed, kPassage_s);
    scenario.record.cut_level_difference_db = seed % 2 == 0 ? 0.9 : -0.9;
    const SimulatedSession simulated(scenario, seed);
    const Solution one = solve(only(measured_session(simulated), {2}), {});
    INFO("seed " << seed << ": " << one.recommended.tilt_deg << " u " << one.recommended.u_deg);
    const double truth = wanted_deg(one, simulated.truth());
    CHECK(one.recommended.interval95_deg[0] <= truth);
    CHECK(truth <= one.recommended.interval95_deg[1]);
  }
}

TEST_CASE("A delay of one channel by one sample or 40 µs changes no tilt and no correction to the logged azimuth") {
  for (std::uint64_t seed = 340; seed < 340 + drawn(std::uint64_t{5}); ++seed) {
    Scenario scenario = random_scenario(seed, kPassage_s);
    const Solution straight = solve(measured(scenario, seed), {});
    for (const double delay_s : {1.0 / 48000, 40e-6}) {
      scenario.cartridge.left_delay_s = delay_s;
      const Solution late = solve(measured(scenario, seed), {});
      INFO("seed " << seed << ", delay " << delay_s);
      CHECK_THAT(late.recommended.tilt_deg, WithinAbs(straight.recommended.tilt_deg, 0.001));
      CHECK_THAT(late.least_crosstalk.tilt_deg, WithinAbs(straight.least_crosstalk.tilt_deg, 0.001));
      for (std::size_t i = 0; i < 5; ++i)
        CHECK_THAT(late.steps[i].audit_deg.value(), WithinAbs(straight.steps[i].audit_deg.value(), 0.001));
    }
  }
}

TEST_CASE("A session with an imbalance of 2 dB and a cut level difference of 0.9 dB is solved, and the mismatch is reported") {
  double worst = 0, worst_balance = 0;
  for (std::uint64_t seed = 350; seed < 350 + drawn(std::uint64_t{10}); ++seed) {
    Scenario scenario = random_scenario(seed, kPassage_s);
    scenario.cartridge.gain_imbalance_db = seed % 2 == 0 ? 2.0 : -2.0;
    scenario.record.cut_level_difference_db = 0.9;
    const SimulatedSession simulated(scenario, seed);
    const Solution s = solve(measured_session(simulated), {});
    const double off = s.recommended.tilt_deg - wanted_deg(s, simulated.truth());
    const double off_balance = *s.balance.from_tilt_response_db - simulated.truth().balance_db;
    INFO("seed " << seed);
    CHECK(std::abs(off) < 0.005);
    CHECK(std::abs(off_balance) < 0.05);
    CHECK(says(s, WarningCode::kLevelMismatch));
    worst = std::max(worst, std::abs(off));
    worst_balance = std::max(worst_balance, std::abs(off_balance));
  }
  std::printf("imbalance of 2 dB, cut level difference of 0.9 dB: largest error of the tilt %.4f deg, of the balance %.4f dB\n", worst,
              worst_balance);
}

TEST_CASE("If an ideal pair of channels has equal crosstalk at every tilt, equal crosstalk is not determined") {
  Scenario scenario = random_scenario(400, kPassage_s);
  auto& cartridge = scenario.cartridge;
  cartridge.generator_error_left_deg = cartridge.generator_error_right_deg = -0.7;
  cartridge.coupling_left_into_right = -cartridge.coupling_right_into_left;
  scenario.record.cut_error_left_deg = scenario.record.cut_error_right_deg = 0;
  const SimulatedSession simulated(scenario, 400);
  const Solution s = solve(measured_session(simulated), {});
  CHECK_FALSE(s.equal_crosstalk.determined);
  CHECK(s.equal_crosstalk.why);
  CHECK(s.recommended.basis == Basis::kLeastCrosstalk);
  CHECK_THAT(s.recommended.tilt_deg, WithinAbs(simulated.truth().least_crosstalk_deg, 0.005));
}
