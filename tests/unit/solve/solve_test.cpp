// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/solve.hpp"

#include "support/catch.hpp"
#include "support/solve_session.hpp"
#include "support/statistics.hpp"

using namespace evenwall;

TEST_CASE("Least and equal crosstalk of 1,000 random rigs agree with a search by brute force") {
  int equal_seen = 0;
  for (std::uint64_t seed = 1; seed <= drawn(1000U); ++seed) {
    rig::Draw draw(seed);
    const rig::Rig r = rig::random_rig(draw);
    const Solution s = solve(session_of(r, {-2, -1, 0, 1, 2}, 1e-6, draw, 0.0), {});
    INFO("seed " << seed);
    // Noise of 1e-6 rad in each ratio is 6e-5°; the freedom of the bend adds the rest.
    CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(rig::least_truth_deg(r), 1e-3));
    if (!s.equal_crosstalk.determined) continue;
    ++equal_seen;
    double nearest = 100;
    for (const double root : rig::equal_truths_deg(r)) nearest = std::min(nearest, std::abs(root - *s.equal_crosstalk.tilt_deg));
    CHECK(nearest < std::max(2e-3, 4 * *s.equal_crosstalk.u_deg));
  }
  CHECK(equal_seen > drawn(850));
}

TEST_CASE("The order of the log does not change a single bit of the answer") {
  rig::Draw draw(7);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-4, draw, std::nullopt);
  const Solution straight = solve(session, {});
  std::swap(session.steps[0], session.steps[3]);
  std::swap(session.steps[1], session.steps[4]);
  const Solution shuffled = solve(session, {});
  CHECK(straight.recommended.tilt_deg == shuffled.recommended.tilt_deg);
  CHECK(straight.recommended.u_deg == shuffled.recommended.u_deg);
}

TEST_CASE("If the gauge uncertainty is stated correctly, about 95 % of the intervals contain the true value") {
  for (const double gauge : {0.0, 0.05}) {
    int held = 0, equal_held = 0, equal = 0;
    const int sessions = drawn(1000);
    for (std::uint64_t seed = 1; seed <= static_cast<std::uint64_t>(sessions); ++seed) {
      rig::Draw draw(seed + 5000);
      const rig::Rig r = rig::random_rig(draw);
      Session session;
      session.facts.gauge_u_deg = gauge;
      const double u = std::pow(10.0, draw.uniform(-4.2, -3.2));
      for (int i = 0; i < 5; ++i) {
        const double t = -2.0 + i;
        Step step = rig::step(r, t + gauge * draw.normal(), t, u, draw, i);
        session.steps.push_back(std::move(step));
      }
      const Solution s = solve(session, {});
      const double least = rig::least_truth_deg(r);
      held += s.least_crosstalk.interval95_deg[0] <= least && least <= s.least_crosstalk.interval95_deg[1];
      if (!s.equal_crosstalk.determined) continue;
      ++equal;
      bool in = false;
      for (const double root : rig::equal_truths_deg(r))
        in |= (*s.equal_crosstalk.interval95_deg)[0] <= root && root <= (*s.equal_crosstalk.interval95_deg)[1];
      equal_held += in;
    }
    if (few_sessions()) continue;
    INFO("gauge " << gauge << ": least crosstalk held " << held << " of " << sessions << ", equal crosstalk " << equal_held << " of "
                  << equal);
    // 1,000 draws: one standard error is 0.7 %, and four of them are allowed.
    CHECK_THAT(held / 1000.0, WithinAbs(0.95, 0.028));
    CHECK_THAT(static_cast<double>(equal_held) / equal, WithinAbs(0.95, 0.028));
  }
}

TEST_CASE("One wrong step among a thousand is flagged, and no other step is") {
  const Solution s = solve(long_session(1000, 0.05, true), {});
  int named = 0;
  for (const SolvedStep& step : s.steps) {
    const bool off = std::find(step.flags.begin(), step.flags.end(), StepFlag::kStepOff) != step.flags.end();
    named += off ? 1 : 0;
    if (step.capture == "step-7") CHECK(off);
  }
  CHECK(named == 1);
}
