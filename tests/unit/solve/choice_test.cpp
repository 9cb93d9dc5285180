// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/choice.hpp"

#include <map>
#include <numeric>

#include "evenwall/solve.hpp"
#include "support/band_rigs.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"
#include "support/statistics.hpp"

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

TEST_CASE("The band is preferred if its optimum lowers the band's total by much more than half a decibel, and otherwise not") {
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
  const auto warned = [](const Solution& s) {
    return std::any_of(s.warnings.begin(), s.warnings.end(), [](const Warning& w) { return w.code == WarningCode::kAimNotMet; });
  };
  CHECK(warned(band));
  CHECK_FALSE(warned(with_aim(one_tone, std::nullopt)));
  SolveOptions narrow;
  narrow.band = BandLimits{900, 1100};
  CHECK(warned(solve(one_tone, narrow)));
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

TEST_CASE("The recommendation does not jump where the inputs move on by little") {
  std::map<Basis, int> seen;
  double largest_u = 0;
  for (const OptionalNumber& gauge_u_deg : {OptionalNumber(0.02), OptionalNumber()}) {
    for (std::uint64_t rig_number = 0; rig_number < (few_sessions() ? 1U : 3U); ++rig_number) {
      rig::Draw of_rig(500 + rig_number);
      const rig::Rig base = rig::random_rig(of_rig);
      std::optional<Solution> last;
      // The shear passes from one side of zero to the other, by half of its uncertainty from input to input.
      for (int i = few_sessions() ? 240 : 0; i <= (few_sessions() ? 260 : 500); ++i) {
        rig::Rig r = base;
        r.coupling_rl += 0.015 - 0.03 * i / 500;
        r.coupling_lr += 0.015 - 0.03 * i / 500;
        rig::Draw noise(600 + rig_number);
        Session session = session_of(r, {-2, -1, 0, 1, 2}, 3e-4, noise, gauge_u_deg);
        for (Step& step : session.steps) *step.log.tilt_deg += 0.02 * noise.normal();
        const Solution s = solve(session, {});
        ++seen[s.recommended.basis];
        if (last) {
          INFO("rig " << rig_number << ", input " << i << ", basis " << static_cast<int>(s.recommended.basis) << ", share "
                      << s.recommended.towards_equal.value_or(-1) << " " << s.recommended.why);
          const double u_deg = std::max(s.recommended.u_deg, last->recommended.u_deg);
          const double jump_u = std::abs(s.recommended.tilt_deg - last->recommended.tilt_deg) / u_deg;
          largest_u = std::max(largest_u, jump_u);
          CHECK(jump_u < 1);
          CHECK(std::abs(s.now->turn_deg - last->now->turn_deg) < u_deg);
        }
        last = s;
      }
    }
  }
  CAPTURE(largest_u);
  if (few_sessions()) return;
  for (const Basis basis : {Basis::kEqualCrosstalk, Basis::kLeastCrosstalk, Basis::kBetween}) CHECK(seen[basis] > 15);
}

TEST_CASE("The band's optimum takes over without a jump") {
  std::map<Basis, int> seen;
  std::optional<Solution> last;
  for (int i = few_sessions() ? 140 : 0; i <= (few_sessions() ? 160 : 300); ++i) {
    rig::Draw noise(701);
    const Solution s = with_aim(session_of_band(shifted_rig(0.8 * i / 300), noise), std::nullopt);
    ++seen[s.recommended.basis];
    INFO("input " << i << ", basis " << static_cast<int>(s.recommended.basis));
    if (last) CHECK(std::abs(s.recommended.tilt_deg - last->recommended.tilt_deg) < s.recommended.u_deg);
    last = s;
  }
  if (few_sessions()) return;
  CHECK(seen[Basis::kBandLeast] > 30);
  CHECK(seen[Basis::kBetween] > 5);
  CHECK(seen.size() >= 3);
}

TEST_CASE("Between two criteria the answer states the share of the way, and the turn and the number to set follow it") {
  rig::Draw draw(74);
  int found = 0;
  for (int i = 0; i < 60; ++i) {
    rig::Rig r = rig::random_rig(draw);
    r.coupling_rl = rig::C(0.004, 0.008);
    r.coupling_lr = rig::C(0.002, -0.006 - 0.0002 * i);
    r.delta_left_deg = r.delta_right_deg = -1;
    const Solution s = solve(session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.0), {});
    if (s.recommended.basis != Basis::kBetween) continue;
    ++found;
    REQUIRE(s.recommended.towards_equal);
    CHECK(*s.recommended.towards_equal > 0);
    CHECK(*s.recommended.towards_equal < 1);
    CHECK(s.recommended.towards_band == 0);
    const double wanted =
        s.least_crosstalk.tilt_deg + *s.recommended.towards_equal * (*s.equal_crosstalk.tilt_deg - s.least_crosstalk.tilt_deg);
    CHECK_THAT(s.recommended.tilt_deg, WithinAbs(wanted, 1e-9));
    CHECK_THAT(s.set_to->tilt_deg, WithinAbs(wanted, 1e-3));
    CHECK_THAT(s.now->turn_deg, WithinAbs(wanted - 2, 1e-3));
    CHECK_THAT(s.recommended.why, ContainsSubstring("of the way to equal"));
  }
  CHECK(found > 5);
}
