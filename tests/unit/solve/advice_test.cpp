// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/advice.hpp"

#include <fmt/format.h>

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

// A sketch seen from the front, in millimetres, y up. The headshell is a flat plate; two screws hold the body under it, spindle-side screw
// on the viewer's left. A washer between plate and body keeps the body's top away from the plate at that screw: the body hangs lower there.
struct Sketch {
  double top_at_left_screw_mm = 0;  // below the plate is negative
  double top_at_right_screw_mm = 0;
  double between_screws_mm = 12.7;

  void washer_under_left_screw(double mm) { top_at_left_screw_mm -= mm; }
  void washer_under_right_screw(double mm) { top_at_right_screw_mm -= mm; }
  /// Positive is clockwise seen from the front: the left end of the body's top is higher than its right end.
  [[nodiscard]] double clockwise_deg() const {
    return std::atan2(top_at_left_screw_mm - top_at_right_screw_mm, between_screws_mm) * 180 / 3.14159265358979323846;
  }
};

double sketched_deg(const Shim& shim) {
  Sketch sketch;
  if (shim.place_shim_at == Side::kSpindleSide) sketch.washer_under_left_screw(*shim.height_mm);
  if (shim.place_shim_at == Side::kOuterSide) sketch.washer_under_right_screw(*shim.height_mm);
  return sketch.clockwise_deg();
}

}  // namespace

TEST_CASE("In a sketch of headshell and body, a shim at the stated screw makes the required move") {
  for (const double move : {1.1, -1.1, 0.3, -2.4}) {
    const Shim shim = shim_of(move, 0, Sense::kAsLogged, {}, {});
    INFO(move);
    CHECK_THAT(sketched_deg(shim), WithinAbs(move, 0.002));  // the sketch turns about a screw, which leaves the cosine of the move
  }
  const Shim up = shim_of(1.1, 0, Sense::kAsLogged, {}, {});
  CHECK(up.raises == Side::kSpindleSide);
  CHECK(up.place_shim_at == Side::kOuterSide);
  const Shim down = shim_of(-1.1, 0, Sense::kAsLogged, {}, {});
  CHECK(down.raises == Side::kOuterSide);
  CHECK(down.place_shim_at == Side::kSpindleSide);
  // 12.7 mm · tan 1° = 0.22168 mm (mpmath).
  CHECK_THAT(*shim_of(1.0, 0, Sense::kAsLogged, {}, {}).height_mm, WithinAbs(0.22168, 5e-6));
}

TEST_CASE("The shim starts from the present tilt and uses the stated span, and if the sense is undecided no side is named") {
  SolveOptions options;
  options.from_tilt_deg = 0.4;
  SessionFacts facts;
  facts.shim_span_mm = 20;
  const Shim shim = shim_of(1.4, 0, Sense::kAsLogged, facts, options);
  CHECK_THAT(shim.move_deg, WithinAbs(1.0, 1e-12));
  CHECK_THAT(*shim.height_mm, WithinAbs(20 * std::tan(radians(1.0)), 1e-12));
  CHECK_FALSE(shim_of(1.4, 0, Sense::kUndecided, facts, options).place_shim_at);
}

TEST_CASE("If the zero of the scale lies outside the captured settings, the move starts at one of them") {
  rig::Draw draw(7);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, std::nullopt);
  double mark = 8;  // the cartridge is upright at mark 10
  for (Step& step : session.steps) {
    step.log.tilt_deg.reset();
    step.log.tilt_units = mark++;
  }
  const Solution s = solve(session, {});
  CHECK_THAT(s.shim.from_tilt_deg, WithinAbs(8, 0.1));
  CHECK_THAT(s.shim.move_deg, WithinAbs(s.recommended.tilt_deg - 8, 0.1));
  SolveOptions told;
  told.from_tilt_deg = 10;
  CHECK_THAT(solve(session, told).shim.move_deg, WithinAbs(s.recommended.tilt_deg - 10, 1e-9));
}

TEST_CASE("The contact limit depends on the stated properties of the stylus") {
  SessionFacts facts;
  CHECK_FALSE(contact_of(3, facts, {}).limit_deg);
  facts.stylus = Stylus{};
  facts.stylus->major_radius_um = 100;
  CHECK(*contact_of(1.0, facts, {}).limit_deg == 1.8);  // common practice, no source
  CHECK(contact_of(1.0, facts, {}).inside == true);
  CHECK(contact_of(2.0, facts, {}).inside == false);
  CHECK(*contact_of(2.0, facts, {}).best_inside_deg == 1.8);
  facts.stylus->upright_at_deg = 0.5;
  CHECK(contact_of(2.0, facts, {}).inside == true);
  facts.stylus->major_radius_um = 40;
  CHECK(*contact_of(2.0, facts, {}).limit_deg == 2.5);  // common practice, no source
  SolveOptions options;
  options.tilt_limit_deg = 1.0;
  CHECK(contact_of(2.0, facts, options).inside == false);
}

TEST_CASE("One more recording is advised if it helps, and it reduces the uncertainty about as predicted") {
  rig::Draw draw(6);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-1, 1}, 1e-4, draw, 0.05);
  const Solution before = solve(session, {});
  REQUIRE(before.next_step);
  CHECK(before.next_step->u_deg_after < 0.9 * before.recommended.u_deg);
  Step more = rig::step(r, before.next_step->tilt_deg, before.next_step->tilt_deg, 1e-4, draw, 9);
  session.steps.push_back(std::move(more));
  const Solution after = solve(session, {});
  CHECK_THAT(after.recommended.u_deg, WithinRel(before.next_step->u_deg_after, 0.15));
  Session fine = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.0);
  CHECK_FALSE(solve(fine, {}).next_step);
}

TEST_CASE("With few degrees of freedom one more recording is advised although u is small") {
  rig::Draw draw(12);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-6, draw, std::nullopt);
  const double errors_deg[] = {0.006, -0.008, 0.005, 0.007, -0.01};
  for (std::size_t i = 0; i < session.steps.size(); ++i) *session.steps[i].log.tilt_deg += errors_deg[i];
  const Solution s = solve(session, {});
  CHECK(s.recommended.u_deg < 0.005);
  REQUIRE(s.recommended.degrees_of_freedom);
  REQUIRE(s.next_step);
  CHECK(s.next_step->u_deg_after < s.recommended.u_deg);
}

TEST_CASE("The forecast does not reduce an uncertainty that all recordings share") {
  rig::Draw draw(6);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-1, 1}, 1e-4, draw, 0.05);
  const Solution alone = solve(session, {});
  for (const double record_u_deg : {0.01, 0.1, 0.5}) {
    INFO("record " << record_u_deg);
    SolveOptions options;
    options.record_u_deg = record_u_deg;
    options.tolerance_deg = 0.001;  // a next step is then given in each case
    const Solution before = solve(session, options);
    REQUIRE(before.next_step);
    CHECK_THAT(before.next_step->u_deg_after, WithinRel(std::hypot(record_u_deg, alone.next_step->u_deg_after), 0.01));
    Session more = session;
    more.steps.push_back(rig::step(r, before.next_step->tilt_deg, before.next_step->tilt_deg, 1e-4, draw, 9));
    CHECK_THAT(solve(more, options).recommended.u_deg, WithinRel(before.next_step->u_deg_after, 0.15));
  }
}

TEST_CASE("The next tilt is also stated as a number on the ruler of the log") {
  rig::Draw draw(6);
  const rig::Rig r = rig::random_rig(draw);
  Session session = session_of(r, {-1, 1}, 1e-4, draw, 0.05);
  for (Step& step : session.steps) {
    step.log.tilt_units = 4 * *step.log.tilt_deg;
    step.log.tilt_deg.reset();
  }
  SolveOptions options;
  options.tolerance_deg = 0.001;
  const Solution s = solve(session, options);
  REQUIRE(s.next_step);
  CHECK(s.next_step->why.find(" on the ruler of the log (") != std::string::npos);
  CHECK(s.next_step->why.find(fmt::format("{:+.3g} on", s.next_step->tilt_deg / s.tilt_response.degrees_per_unit)) != std::string::npos);
}
