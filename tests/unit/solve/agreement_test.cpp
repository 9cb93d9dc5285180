// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/agreement.hpp"

#include "evenwall/solve.hpp"
#include "solve/joint_fit.hpp"
#include "solve/method_constants.hpp"
#include "support/catch.hpp"
#include "support/recordings.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;
using recordings::bench, recordings::Bench;

namespace {

const Rows kAll{0, 1, 2, 3, 4};
const GainPriors kStated{0, 0.035, 0};

Agreement agreement_of(const std::vector<Observation>& all, const GainPriors& priors) {
  return agreement(leaks_of(all, kAll, priors), at_phase_seen(all, priors));
}

}  // namespace

TEST_CASE("Crosstalk of one cartridge agrees at any gain and phase, and it disagrees if one step is changed") {
  int small = 0;
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    INFO("seed " << seed);
    Bench b = bench(seed);
    for (Step& step : b.session.steps) recordings::change_gain(step, 12, 50);
    std::vector<Observation> all = observations_of(b.session, {}).fitted;
    const Agreement agreed = agreement_of(all, kStated);
    small += agreed.p_value < 0.05 ? 1 : 0;
    all[2].right_into_left += Complex(0.03, 0);
    CHECK(agreement_of(all, kStated).p_value < kOddContradict);
  }
  // If p is uniform, 10 of 200 are expected; 3 standard deviations are 9.
  CHECK(small <= 19);
}

TEST_CASE("Levels and phases hardly affect the agreement, unless each recording has a gain of its own") {
  Bench b = bench(6);
  recordings::misread(b.session.steps[1], 1, 10);
  const std::vector<Observation> all = observations_of(b.session, {}).fitted;
  CHECK(agreement_of(all, kStated).p_value > 0.01);
  GainPriors own = kStated;
  own.spread = {0.003, radians(0.1)};
  CHECK(agreement_of(all, own).p_value < kOddContradict);
  // With three steps the levels keep their uncertainty.
  CHECK(leaks_of({all[0], all[1], all[2]}, {0, 2}, kStated)[1].u_ln_level_ratio == all[2].u_ln_level_ratio);
  CHECK(leaks_of(all, {0, 2}, kStated)[1].u_ln_level_ratio == kLoose_neper);
}

TEST_CASE("The expected phase is that of the both-channel passages, and without such passages it is the stated one") {
  std::vector<Observation> all = observations_of(bench(1).session, {}).fitted;
  for (Observation& o : all) o.interchannel_phase_rad = 3.1;
  all[0].interchannel_phase_rad = -3.1;  // next to 3.1 rad on the circle
  CHECK(std::abs(std::remainder(at_phase_seen(all, kStated).phase_centre_rad - 3.1, 6.283185307)) < 0.05);
  for (Observation& o : all) o.interchannel_phase_rad.reset();
  CHECK(at_phase_seen(all, {0, 0.035, 1.5}).phase_centre_rad == 1.5);
}
