// SPDX-License-Identifier: GPL-3.0-or-later
// Tests the main claim: over random sessions the answer agrees with the true value to a few thousandths of a degree.
#include <algorithm>
#include <cmath>
#include <cstdio>
#include <cstdlib>

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/measurement_of.hpp"
#include "support/recommended_truth.hpp"
#include "support/session_of.hpp"
#include "support/statistics.hpp"

using namespace evenwall;

namespace {

struct Tally {
  int sessions = 0, equal = 0, held = 0, least_held = 0;
  double least2 = 0, recommended2 = 0, worst_leak = 0;
};

void compare(const Solution& solution, const SimulatedTruth& truth, Tally& tally) {
  const bool equal = solution.recommended.basis == Basis::kEqualCrosstalk;
  const double wanted = recommended_truth_deg(solution.recommended, truth.least_crosstalk_deg, truth.equal_crosstalk_deg);
  const auto holds = [](const Interval& i, double x) { return i[0] <= x && x <= i[1]; };
  tally.sessions += 1;
  tally.equal += equal ? 1 : 0;
  tally.held += holds(solution.recommended.interval95_deg, wanted) ? 1 : 0;
  tally.least_held += holds(solution.least_crosstalk.interval95_deg, truth.least_crosstalk_deg) ? 1 : 0;
  tally.least2 += std::pow(solution.least_crosstalk.tilt_deg - truth.least_crosstalk_deg, 2);
  tally.recommended2 += std::pow(solution.recommended.tilt_deg - wanted, 2);
}

void compare(const Session& session, const SimulatedTruth& truth, Tally& tally) {
  for (std::size_t i = 0; i < session.steps.size(); ++i) {
    const auto& crosstalk = measurement_of(session.steps[i]).crosstalk;
    tally.worst_leak =
        std::max({tally.worst_leak, std::abs(crosstalk.right_into_left->same_passage.value - truth.steps[i].right_into_left_same_passage),
                  std::abs(crosstalk.left_into_right->same_passage.value - truth.steps[i].left_into_right_same_passage)});
  }
}

Tally run(double passage_s, std::uint64_t first_seed, int sessions) {
  Tally tally;
  for (int i = 0; i < sessions; ++i) {
    const std::uint64_t seed = first_seed + static_cast<std::uint64_t>(i);
    INFO("seed " << seed << ", passages of " << passage_s << " s");
    const SimulatedSession simulated(random_scenario(seed, passage_s), seed);
    const Session session = measured_session(simulated);
    compare(session, simulated.truth(), tally);
    compare(solve(session, {}), simulated.truth(), tally);
  }
  return tally;
}

void report(const char* what, const Tally& t) {
  std::printf(
      "%s: %d sessions, rms error of least crosstalk %.5f deg, of the recommended tilt %.5f deg, %d recommend equal and %d least "
      "crosstalk, %d intervals held (least crosstalk %d), largest error of a crosstalk ratio %.1e\n",
      what, t.sessions, std::sqrt(t.least2 / t.sessions), std::sqrt(t.recommended2 / t.sessions), t.equal, t.sessions - t.equal, t.held,
      t.least_held, t.worst_leak);
}

void check(const Tally& t) {
  CHECK(std::sqrt(t.least2 / t.sessions) < 0.003);
  CHECK(std::sqrt(t.recommended2 / t.sessions) < 0.005);
  CHECK(t.worst_leak < 3e-4);
  CHECK(t.sessions - t.equal < std::max(2.0, 0.15 * t.sessions));
  // If each interval holds with 95 %, at least 25 of 30 hold in all but 1 in 300 runs.
  CHECK(t.held >= 0.83 * t.sessions);
  CHECK(t.least_held >= 0.83 * t.sessions);
}

int sessions() { return few_sessions() ? 4 : 30; }

}  // namespace

TEST_CASE("The answers of thirty random sessions with passages of 4.5 s agree with the true values", "[long]") {
  const Tally t = run(4.5, 100, sessions());
  report("4.5 s", t);
  check(t);
}

TEST_CASE("The answers of thirty random sessions with passages of 5.4 s agree with the true values", "[long]") {
  const Tally t = run(5.4, 200, sessions());
  report("5.4 s", t);
  check(t);
}
