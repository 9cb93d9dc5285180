// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/uncertainty.hpp"

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
