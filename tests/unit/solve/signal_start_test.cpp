// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/signal_start.hpp"

#include "evenwall/solve.hpp"
#include "solve/joint_fit.hpp"
#include "solve/method_constants.hpp"
#include "support/catch.hpp"
#include "support/recordings.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;
using recordings::bench, recordings::Bench;

TEST_CASE("The starting values of the signal fit are close to its result") {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    INFO("seed " << seed);
    const std::vector<Observation> all = observations_of(bench(seed).session, {}).fitted;
    const GainPriors priors{0, 0.035, 0};
    const SignalFit start = signal_start(all, priors), fit = fit_signal(all, priors);
    CHECK(start.own_ln_gain.size() == 0);
    CHECK((start.psi_rad - fit.psi_rad).cwiseAbs().maxCoeff() < radians(0.2));
    CHECK(std::abs(start.common[kLnGain] - fit.common[kLnGain]) < 0.05);
    CHECK(std::abs(start.common[kGainPhase] - fit.common[kGainPhase]) < 0.05);
  }
}

TEST_CASE("The gains of the recordings start from their levels and both-channel passages") {
  Bench b = bench(9);
  const double db[] = {1, -2, 0.5, 0, 3}, phase_deg[] = {20, -40, 0, 100, -5};
  for (std::size_t i = 0; i < 5; ++i) recordings::change_gain(b.session.steps[i], db[i], phase_deg[i]);
  const std::vector<Observation> all = observations_of(b.session, {}).fitted;
  const SignalFit start = signal_start(all, {0, 0.035, 0, {0.2, 1}});
  REQUIRE(start.own_ln_gain.size() == 5);
  for (Eigen::Index i = 1; i < 5; ++i) {
    const auto k = static_cast<std::size_t>(i);
    const Complex from_first = start.own_ln_gain[i] - start.own_ln_gain[0];
    CHECK_THAT(from_first.real() * kDbPerNeper, WithinAbs(db[k] - db[0], 0.2));
    CHECK_THAT(degrees(std::remainder(from_first.imag(), 6.283185307179586)), WithinAbs(phase_deg[k] - phase_deg[0], 1));
  }
  // If only the gain has a spread, the phases stay zero.
  CHECK(signal_start(all, {0, 0.035, 0, {0.2, 0}}).own_ln_gain.imag().cwiseAbs().maxCoeff() == 0);
}
