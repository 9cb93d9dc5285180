// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/true_record.hpp"

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

double u_from(const Solution& s, const std::string& source) {
  for (const UncertaintyTerm& t : s.uncertainty) {
    if (t.source == source) return t.u_deg;
  }
  return -1;
}

}  // namespace

TEST_CASE("A cutting-azimuth error is subtracted from every answer, and its uncertainty is in the budget") {
  rig::Draw draw(6);
  const Session session = session_of(rig::random_rig(draw), {-2, -1, 0, 1, 2}, 1e-5, draw, 0.02);
  const Solution plain = solve(session, {});
  SolveOptions options;
  options.record_correction = RecordCorrection{"a.json", "T1, side A", 0.125, 0.04};
  const Solution s = solve(session, options);
  // The interval is wider about the same centre, and shifted: only rounding is allowed for.
  CHECK_THAT(s.recommended.tilt_deg, WithinAbs(plain.recommended.tilt_deg - 0.125, 1e-4));
  CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(plain.least_crosstalk.tilt_deg - 0.125, 1e-4));
  CHECK_THAT(s.shim.move_deg, WithinAbs(plain.shim.move_deg - 0.125, 1e-4));
  CHECK_THAT(s.least_crosstalk.u_deg, WithinRel(std::hypot(plain.least_crosstalk.u_deg, 0.04), 0.02));
  CHECK_THAT(u_from(s, "record"), WithinRel(0.04, 0.05));
  CHECK(s.recommended.scope == Scope::kAnyRecord);
  CHECK(plain.recommended.scope == Scope::kThisRecord);
  CHECK(s.recommended.why.find("The cutting-azimuth error of T1, side A, +0.125°, is subtracted") != std::string::npos);
  // The number on the gauge moves with the tilt, and so does its interval. Both are medians of mixtures: the number is not exactly the
  // tilt divided by the scale.
  const double units = -0.125 / s.tilt_response.degrees_per_unit;
  CHECK_THAT(*s.recommended.tilt_units - *plain.recommended.tilt_units, WithinAbs(units, 1e-4));
  const auto middle = [](const Solution& of) {
    return 0.5 * ((*of.recommended.interval95_units)[0] + (*of.recommended.interval95_units)[1]);
  };
  CHECK_THAT(middle(s) - middle(plain), WithinAbs(units, 0.1 * *s.recommended.u_units));
  CHECK_THAT(*s.recommended.tilt_units,
             WithinAbs(s.recommended.tilt_deg / s.tilt_response.degrees_per_unit, 0.05 * *s.recommended.u_units));
  // The logged tilts of the captures are unchanged.
  CHECK(s.steps[1].tilt_deg == plain.steps[1].tilt_deg);
  CHECK_THAT(s.curves.tilt_deg.front(), WithinAbs(plain.curves.tilt_deg.front() - 0.125, 1e-3));
}

TEST_CASE("The correction for the record creates no value that the solution does not have") {
  Solution s;
  take_out_cut_error({"a.json", "T1", 0.5, 0.1}, s);
  CHECK(s.recommended.tilt_deg == -0.5);
  CHECK_FALSE(s.recommended.tilt_units);
  CHECK_FALSE(s.equal_crosstalk.tilt_deg);
}
