#include "solve/signal_start.hpp"

#include <cmath>

#include "evenwall/error.hpp"
#include "evenwall/units.hpp"
#include "solve/observations.hpp"
#include "support/catch.hpp"
#include "support/rig.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;

TEST_CASE("The start lies near the fit, whatever was in the unknowns before") {
  rig::Draw draw(1);
  const rig::Rig r = rig::random_rig(draw);
  const Observations o = observations_of(session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.0), {});
  const SignalFit fit = fit_signal(o.fitted, {});
  Eigen::VectorXd psi = Eigen::VectorXd::Constant(5, 1e9);
  Eigen::VectorXd common = Eigen::VectorXd::Constant(kCommonSize, NAN);
  start_signal(o.fitted, {}, psi, common);
  CHECK((psi - fit.psi_rad).cwiseAbs().maxCoeff() < radians(1.0));
  CHECK(std::abs(common[kLnGain] - fit.common[kLnGain]) < 0.1);
}

TEST_CASE("A leak that no turn explains gives finite unknowns or words, never a number that is none") {
  int fitted = 0;
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    rig::Draw draw(seed);
    Observations o = observations_of(session_of(rig::random_rig(draw), {-2, -1, 0, 1, 2}, 1e-5, draw, 0.0), {});
    o.fitted[seed % 5].left_into_right = std::polar(0.02 * static_cast<double>(1 + seed % 6), 0.3 * static_cast<double>(seed));
    INFO("seed " << seed);
    try {
      const SignalFit fit = fit_signal(o.fitted, {});
      CHECK(fit.psi_rad.allFinite());
      CHECK(fit.common.allFinite());
      CHECK(std::isfinite(fit.chi2));
      ++fitted;
    } catch (const Error& error) {
      CHECK(error.kind() == ErrorKind::kData);
    }
  }
  CHECK(fitted > 30);
}
