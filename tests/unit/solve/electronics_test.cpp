// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/electronics.hpp"

#include "evenwall/error.hpp"
#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"
#include "support/statistics.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

Calibration calibration(rig::C rl, rig::C lr, double u) { return {{{315.0, {1, 0.5, 0.5, 1}, {u, u}}, {1000.0, {1, rl, lr, 1}, {u, u}}}}; }

}  // namespace

TEST_CASE("With a calibration the answer is that of the cartridge alone, whatever the crosstalk of the preamplifier is") {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    rig::Draw draw(seed);
    rig::Rig r = rig::random_rig(draw);
    // The crosstalk of the electronics is −35 dB and −30 dB.
    r.electronics_rl = std::polar(0.0178, draw.uniform(-3, 3));
    r.electronics_lr = std::polar(0.0316, draw.uniform(-3, 3));
    const Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.0);
    SolveOptions options;
    options.calibration = calibration(r.electronics_rl, r.electronics_lr, 1e-6);
    const Solution own = solve(session, options);
    INFO("seed " << seed);
    CHECK_THAT(own.least_crosstalk.tilt_deg, WithinAbs(rig::least_truth_deg(r), 0.002));
    CHECK(std::abs(solve(session, {}).least_crosstalk.tilt_deg - rig::least_truth_deg(r)) > 0.002);
  }
}

TEST_CASE("The uncertainty of the calibration is included in the interval and in the budget") {
  rig::Draw draw(5);
  const rig::Rig r = rig::random_rig(draw);
  const Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-6, draw, 0.0);
  SolveOptions options;
  options.calibration = calibration(0, 0, 1e-3);
  const Solution s = solve(session, options);
  // There are two offsets of 1e-3, and each moves φ0 by half of itself: 1e-3/√2 rad = 0.0405°.
  CHECK_THAT(s.least_crosstalk.u_deg, WithinRel(0.0405, 0.03));
  CHECK(s.uncertainty.back().source == "electronics");
  CHECK(s.uncertainty.back().u_deg > 0.9 * s.recommended.u_deg);
}

TEST_CASE("A calibration without the tone's frequency is refused") {
  rig::Draw draw(6);
  const Session session = session_of(rig::random_rig(draw), {-1, 1}, 1e-6, draw, 0.0);
  SolveOptions options;
  options.calibration = Calibration{{{3150.0, {1, 0, 0, 1}, {0, 0}}}};
  CHECK_THROWS_WITH(solve(session, options), ContainsSubstring("1000.0 Hz"));
}

TEST_CASE("If only the magnitude of the electronics crosstalk is stated, the interval includes it and contains the true value") {
  int held = 0, held_without = 0, sessions = 0;
  for (std::uint64_t seed = 1; seed <= drawn(300U); ++seed) {
    rig::Draw draw(seed);
    rig::Rig r = rig::random_rig(draw);
    r.gain_left = 1;
    r.electronics_rl = std::polar(amplitude_ratio(-40), draw.uniform(-3.14159, 3.14159));
    r.electronics_lr = std::polar(amplitude_ratio(-40), draw.uniform(-3.14159, 3.14159));
    Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.0);
    r.electronics_rl = r.electronics_lr = 0;
    const double truth = rig::least_truth_deg(r);
    const auto holds = [&](const Solution& s) {
      return s.least_crosstalk.interval95_deg[0] <= truth && truth <= s.least_crosstalk.interval95_deg[1];
    };
    held_without += holds(solve(session, {})) ? 1 : 0;
    session.facts.electronics_crosstalk_db = -40;
    const Solution s = solve(session, {});
    held += holds(s) ? 1 : 0;
    ++sessions;
    // u is 0.01/√2 in each part of each ratio, and half of each enters φ0: 0.005 rad = 0.286°.
    CHECK_THAT(s.least_crosstalk.u_deg, WithinRel(degrees(0.005), 0.05));
    const auto term =
        std::find_if(s.uncertainty.begin(), s.uncertainty.end(), [](const UncertaintyTerm& t) { return t.source == "electronics"; });
    REQUIRE(term != s.uncertainty.end());
    CHECK(term->u_deg > 0.9 * s.least_crosstalk.u_deg);
  }
  INFO("held " << held << " of " << sessions << ", without the stated magnitude " << held_without);
  if (few_sessions()) return;
  // A phasor of fixed length has no tails, so the interval holds the true value at least as often as it states.
  CHECK(held >= 0.95 * sessions);
  CHECK(held_without < 0.1 * sessions);
}
