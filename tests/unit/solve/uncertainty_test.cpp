// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/uncertainty.hpp"

#include <algorithm>
#include <numeric>

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

double root_sum_square(const std::vector<UncertaintyTerm>& terms) {
  return std::sqrt(
      std::accumulate(terms.begin(), terms.end(), 0.0, [](double s, const UncertaintyTerm& t) { return s + t.u_deg * t.u_deg; }));
}

double term(const Solution& s, const std::string& source) {
  for (const UncertaintyTerm& t : s.uncertainty) {
    if (t.source == source) return t.u_deg;
  }
  FAIL("the budget has no term " << source);
  return 0;
}

}  // namespace

TEST_CASE("The root sum of squares of the budget equals the combined uncertainty, whether the gauge is stated or not") {
  for (const OptionalNumber gauge : {OptionalNumber(0.05), OptionalNumber(0.0), OptionalNumber()}) {
    rig::Draw draw(4);
    Session session = session_of(rig::random_rig(draw), {-2, -1, 0, 1, 2}, 1e-4, draw, gauge);
    session.facts.record_u_deg = 0.03;
    session.facts.gauge_zero_u_deg = 0.02;
    const Solution s = solve(session, {});
    CHECK_THAT(root_sum_square(s.uncertainty), WithinRel(s.recommended.u_deg, 1e-9));
    CHECK(s.recommended.scope == Scope::kAnyRecord);
  }
}

TEST_CASE("The budget lists each uncertainty under its own source") {
  rig::Draw draw(5);
  Session session = session_of(rig::random_rig(draw), {-2, -1, 0, 1, 2}, 1e-5, draw, 0.05);
  session.facts.record_u_deg = 0.03;
  const Solution s = solve(session, {});
  // Five settings with 0.05° each about the optimum give 0.05/√5 and a little more for the lever.
  CHECK(term(s, "gauge") > 0.05 / std::sqrt(5.0) * 0.95);
  CHECK(term(s, "gauge") < 0.04);
  CHECK_THAT(term(s, "record"), WithinRel(0.03, 0.1));
  CHECK(term(s, "gauge zero") == 0);
  CHECK(term(s, "signal scatter") < 0.005);
}

TEST_CASE("Visible errors of the gauge are listed under gauge, even if every step states its own uncertainty") {
  rig::Draw draw(8);
  const rig::Rig r = rig::random_rig(draw);
  Session session;
  for (const double logged : {-2.0, -1.0, 0.0, 1.0, 2.0}) {
    Step step = rig::step(r, logged + 0.05 * draw.normal(), logged, 1e-5, draw, static_cast<int>(session.steps.size()));
    step.log.tilt_u = 0.05;
    session.steps.push_back(std::move(step));
  }
  const Solution s = solve(session, {});
  CHECK(term(s, "gauge") > 5 * term(s, "signal scatter"));
}

TEST_CASE("Between two criteria the part that all recordings share is a term of its own, and no forecast reduces it") {
  rig::Draw draw(95);
  int found = 0;
  for (int i = 0; i < 40; ++i) {
    rig::Rig r = rig::random_rig(draw);
    r.coupling_rl = rig::C(0.004, 0.008);
    r.coupling_lr = rig::C(0.002, -0.006 - 0.0003 * i);
    r.delta_left_deg = r.delta_right_deg = -1;
    Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.0);
    session.facts.slope_u = 0.02;
    SolveOptions options;
    options.tolerance_deg = 0.001;
    const Solution s = solve(session, options);
    if (s.recommended.basis != Basis::kBetween) continue;
    ++found;
    const auto term = [&](const char* source) {
      const auto at = std::find_if(s.uncertainty.begin(), s.uncertainty.end(), [&](const auto& t) { return t.source == source; });
      REQUIRE(at != s.uncertainty.end());
      return *at;
    };
    CHECK(term(kSharedBetween).common);
    CHECK(term(kSharedBetween).u_deg > 10 * term("between criteria").u_deg);  // the slopes dominate
    REQUIRE(s.next_step);
    CHECK(s.next_step->u_deg_after > 0.95 * s.recommended.u_deg);
  }
  CHECK(found > 3);
}
