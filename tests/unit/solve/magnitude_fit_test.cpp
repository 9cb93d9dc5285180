// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/magnitude_fit.hpp"

#include "evenwall/error.hpp"
#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/refusal.hpp"
#include "support/solve_session.hpp"
#include "support/statistics.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

bool contains(const Interval& interval, double x) { return interval[0] <= x && x <= interval[1]; }

}  // namespace

TEST_CASE("If the meter is perfect, magnitudes alone determine least and equal crosstalk of any rig") {
  int equal = 0;
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    INFO("seed " << seed);
    rig::Draw draw(seed);
    const rig::Rig r = rig::random_rig(draw);
    const Solution s = solve(metered(r, 7, 3, 0, 1e-4, seed % 2 == 0, draw), {});
    // Four stated uncertainties, and a thousandth of a degree for the pull of the priors.
    CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(rig::least_truth_deg(r), 4 * s.least_crosstalk.u_deg + 0.001));
    CHECK(s.least_crosstalk.u_deg < 0.01);
    CHECK_FALSE(s.phase_match.determined);
    CHECK_FALSE(s.not_correctable.rotation_quadrature_deg);
    CHECK_FALSE(s.steps.front().right_into_left_phase_deg);
    CHECK(says(s.warnings, WarningCode::kSizesOnly));
    if (!s.equal_crosstalk.determined) continue;
    ++equal;
    double nearest = 99;
    for (const double root : rig::equal_truths_deg(r)) nearest = std::min(nearest, std::abs(root - *s.equal_crosstalk.tilt_deg));
    CHECK(nearest < 4 * *s.equal_crosstalk.u_deg + 0.001);
  }
  CHECK(equal >= 33);
}

TEST_CASE("About 95 % of the intervals from a voltmeter contain the true value") {
  int sessions = 0, held = 0, equal = 0, equal_held = 0;
  for (const int steps : {4, 5, 7}) {
    for (std::uint64_t seed = 1; seed <= drawn(130U); ++seed) {
      rig::Draw draw(1000 * static_cast<std::uint64_t>(steps) + seed);
      const rig::Rig r = rig::random_rig(draw);
      const double span_deg = draw.uniform(1.5, 4), gauge_deg = draw.uniform(0, 0.1), u_db = draw.uniform(0.05, 0.3);
      const Solution s = solve(metered(r, steps, span_deg, gauge_deg, u_db, seed % 2 == 0, draw), {});
      ++sessions;
      held += contains(s.least_crosstalk.interval95_deg, rig::least_truth_deg(r)) ? 1 : 0;
      if (!s.equal_crosstalk.determined) continue;
      ++equal;
      bool root_held = false;
      for (const double root : rig::equal_truths_deg(r)) root_held |= contains(*s.equal_crosstalk.interval95_deg, root);
      equal_held += root_held ? 1 : 0;
    }
  }
  if (few_sessions()) return;
  // With 390 sessions one standard error is 1.1 points; three of them are allowed on either side of 95 %.
  INFO("least crosstalk held " << held << " of " << sessions << ", equal crosstalk " << equal_held << " of " << equal);
  CHECK_THAT(100.0 * held / sessions, WithinAbs(95, 3.4));
  CHECK_THAT(100.0 * equal_held / equal, WithinAbs(95, 4.0));
}

TEST_CASE("Meter readings that contradict each other are reported, and the interval is widened") {
  rig::Draw draw(5);
  const rig::Rig r = rig::random_rig(draw);
  Session session = metered(r, 7, 3, 0, 1.0, false, draw);
  const Solution wide = solve(session, {});
  for (Step& step : session.steps) {
    for (auto* leak : {&measurement_of(step).crosstalk.right_into_left, &measurement_of(step).crosstalk.left_into_right}) {
      (*leak)->same_passage.u_re *= 0.1;
      (*leak)->same_passage.u_im *= 0.1;
    }
    measurement_of(step).crosstalk_spectrum = {measurement_of(step).crosstalk};
  }
  const Solution told = solve(session, {});
  CHECK_FALSE(says(wide.warnings, WarningCode::kStepsContradict));
  CHECK(says(told.warnings, WarningCode::kStepsContradict));
  // A meter uncertainty ten times too small would shrink u tenfold; the widening keeps u at its former magnitude.
  CHECK(told.least_crosstalk.u_deg > 0.4 * wide.least_crosstalk.u_deg);
}

TEST_CASE("One wrong setting of seven is flagged by magnitudes alone and does not move the answer") {
  rig::Draw draw(11);
  const rig::Rig r = rig::random_rig(draw);
  Session session = metered(r, 7, 3, 0.02, 0.02, true, draw);
  session.steps[1].log.tilt_deg = *session.steps[1].log.tilt_deg + 0.6;
  const Solution s = solve(session, {});
  CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(rig::least_truth_deg(r), 0.05));
  int named = 0, others = 0;
  for (const SolvedStep& step : s.steps) (step.capture == "step-1" ? named : others) += step.flags.empty() ? 0 : 1;
  CHECK(named == 1);
  CHECK(others == 0);
}

TEST_CASE("Fewer than three tilts without phases are refused, and the message states how many are needed") {
  rig::Draw draw(3);
  Session session = metered(rig::random_rig(draw), 3, 2, 0, 0.1, true, draw);
  session.steps.pop_back();
  const std::string message = refusal_of([&] { solve(session, {}); }, ErrorKind::kData);
  CHECK(message.find("at least three different tilts, and this session has 2") != std::string::npos);
}

TEST_CASE("A reading near a null does not hold the fit in a local minimum") {
  int misfits = 0;
  for (std::uint64_t seed = 1; seed <= drawn(60U); ++seed) {
    rig::Draw draw(seed);
    const rig::Rig r = rig::random_rig(draw);
    const Session session = metered(r, 9 + 6 * static_cast<int>(seed % 2), 3, 0.05, 0.1, seed % 3 == 0, draw);
    for (const Warning& w : solve(session, {}).warnings)
      misfits += w.code == WarningCode::kStepsContradict || w.code == WarningCode::kLeaksOff ? 1 : 0;
  }
  CHECK(misfits <= 2);  // one may occur by chance
}
