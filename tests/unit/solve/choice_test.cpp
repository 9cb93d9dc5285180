// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/choice.hpp"

#include <numeric>

#include "evenwall/solve.hpp"
#include "support/band_rigs.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using band_rigs::BandRig;

namespace {

Session session_of_band(const BandRig& rigs, rig::Draw& draw) {
  Session session;
  session.facts.gauge_u_deg = 0.02;
  for (int i = 0; i < 5; ++i) session.steps.push_back(band_rigs::step(rigs, -2.0 + i, -2.0 + i, 1e-4, draw, i + 1));
  return session;
}

Solution with_aim(const Session& session, const std::optional<Aim>& aim) {
  SolveOptions options;
  options.aim = aim;
  return solve(session, options);
}

/// Rigs whose optimum at 1 kHz is that of the band, but for one far-off half of the frequencies.
BandRig shifted_rig(double shift_deg) {
  rig::Rig near;
  near.delta_left_deg = 0.3;
  near.delta_right_deg = -0.3;
  rig::Rig far = near;
  far.delta_left_deg -= shift_deg;
  far.delta_right_deg -= shift_deg;
  return {{500, near}, {1000, near}, {2000, far}, {4000, far}};
}

}  // namespace

TEST_CASE("Each aim gives its criterion, and the turn, the number to set and the budget follow it") {
  rig::Draw draw(71);
  const Session session = session_of_band(band_rigs::random_band_rig(draw, 27, 38), draw);
  const Solution plain = with_aim(session, std::nullopt);
  REQUIRE(plain.equal_crosstalk.determined);
  REQUIRE(plain.phase_match.determined);
  REQUIRE(plain.band);
  const std::vector<std::tuple<Aim, Basis, double>> all{
      {Aim::kEqual, Basis::kEqualCrosstalk, *plain.equal_crosstalk.tilt_deg},
      {Aim::kLeast, Basis::kLeastCrosstalk, plain.least_crosstalk.tilt_deg},
      {Aim::kPhase, Basis::kPhaseMatch, *plain.phase_match.tilt_deg},
      {Aim::kBand, Basis::kBandLeast, *plain.band->least.tilt_deg},
  };
  for (const auto& [aim, basis, tilt_deg] : all) {
    INFO("aim " << static_cast<int>(aim));
    const Solution s = with_aim(session, aim);
    CHECK(s.recommended.basis == basis);
    CHECK_THAT(s.recommended.tilt_deg, WithinAbs(tilt_deg, 1e-9));
    // The gauge is right, so the number to set and the turn from the last step, at +2°, lead to the same azimuth.
    CHECK_THAT(s.set_to->tilt_deg, WithinAbs(tilt_deg, 0.1));
    CHECK_THAT(s.now->turn_deg, WithinAbs(tilt_deg - 2, 0.1));
    CHECK_THAT(s.now->turn_deg - with_aim(session, Aim::kLeast).now->turn_deg, WithinAbs(tilt_deg - plain.least_crosstalk.tilt_deg, 0.01));
    const double squares = std::accumulate(s.uncertainty.begin(), s.uncertainty.end(), 0.0,
                                           [](double sum, const UncertaintyTerm& t) { return sum + t.u_deg * t.u_deg; });
    CHECK_THAT(std::sqrt(squares), WithinRel(s.recommended.u_deg, 1e-6));
  }
}

TEST_CASE("The band is preferred if its optimum lowers the band's total by more than half a decibel, and otherwise not") {
  rig::Draw draw(72);
  const Solution far = with_aim(session_of_band(shifted_rig(0.8), draw), std::nullopt);
  CHECK(far.recommended.basis == Basis::kBandLeast);
  CHECK_THAT(far.recommended.tilt_deg, WithinAbs(0.4, 0.05));
  const Solution near = with_aim(session_of_band(shifted_rig(0.06), draw), std::nullopt);
  CHECK(near.recommended.basis != Basis::kBandLeast);
  // Here the optima are 0.1° apart, which is more than the tolerance, but the total differs by 0.4 dB only.
  const Solution cheap = with_aim(session_of_band(shifted_rig(0.2), draw), std::nullopt);
  CHECK(cheap.recommended.basis != Basis::kBandLeast);
  CHECK(std::abs(cheap.band->least_from_single_deg) > 0.08);
}

TEST_CASE("An aim that cannot be met is reported with the reason, and the session is still solved") {
  rig::Draw draw(73);
  const Session one_tone = session_of(rig::random_rig(draw), {-2, -1, 0, 1, 2}, 1e-4, draw, 0.02);
  const Solution band = with_aim(one_tone, Aim::kBand);
  CHECK(band.recommended.basis != Basis::kBandLeast);
  CHECK_THAT(band.recommended.why, ContainsSubstring("span less than an octave"));
  rig::Rig without_shear;
  without_shear.coupling_rl = rig::C(0, 0.01);
  without_shear.coupling_lr = rig::C(0, -0.01);
  const Solution equal = with_aim(session_of(without_shear, {-2, -1, 0, 1, 2}, 1e-4, draw, 0.02), Aim::kEqual);
  CHECK(equal.recommended.basis == Basis::kLeastCrosstalk);
  CHECK_THAT(equal.recommended.why, ContainsSubstring("You asked for equal crosstalk"));
  // The rule then prefers the band as without an aim.
  BandRig rigs = shifted_rig(0.8);
  for (auto& at : rigs) at.rig.coupling_rl = at.rig.coupling_lr = 0;
  const Session shifted = session_of_band(rigs, draw);
  REQUIRE_FALSE(with_aim(shifted, std::nullopt).phase_match.determined);
  const Solution phase = with_aim(shifted, Aim::kPhase);
  CHECK(phase.recommended.basis == Basis::kBandLeast);
  CHECK_THAT(phase.recommended.why, ContainsSubstring("You asked for phase match"));
}

TEST_CASE("Without a log the turn to any aim has the uncertainty of the answer, because both count from one recording") {
  rig::Draw draw(72);
  Session session = session_of_band(band_rigs::random_band_rig(draw, 27, 38), draw);
  for (Step& step : session.steps) step.log.tilt_deg.reset();
  for (const Aim aim : {Aim::kEqual, Aim::kLeast, Aim::kPhase, Aim::kBand}) {
    INFO("aim " << static_cast<int>(aim));
    const Solution s = with_aim(session, aim);
    REQUIRE(s.recommended.from_capture);
    REQUIRE(s.now);
    CHECK_THAT(s.now->turn_deg, WithinAbs(s.recommended.tilt_deg, 1e-9));
    CHECK_THAT(s.now->u_deg, WithinAbs(s.recommended.u_deg, 1e-9));
  }
}
