// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/account_mixture.hpp"

#include "solve/criteria.hpp"
#include "solve/joint_fit.hpp"
#include "solve/method_constants.hpp"
#include "solve/root_distribution.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

TEST_CASE("A condensed mixture has few accounts, the same probability, and the same quantiles") {
  for (const bool is_stated : {true, false}) {
    for (const bool is_wrong : {true, false}) {
      const Session session = long_session(150, is_stated ? OptionalNumber(0.05) : std::nullopt, is_wrong);
      TiltFit whole = fit_jointly(session, {}).tilt;
      if (whole.accounts.size() > kManyAccounts) whole.accounts.resize(kManyAccounts);  // so that no distribution condenses it
      double sum = 0;
      for (const TiltAccount& a : whole.accounts) sum += a.probability;
      for (TiltAccount& a : whole.accounts) a.probability /= sum;
      TiltFit fewer = whole;
      fewer.accounts = condensed(whole.accounts);
      INFO("stated " << is_stated << ", wrong " << is_wrong << ", " << whole.accounts.size() << " to " << fewer.accounts.size());
      REQUIRE(whole.accounts.size() > (is_wrong ? 5 : 100));  // a clear error leaves few other accounts
      CHECK(fewer.accounts.size() < whole.accounts.size());
      double probability = 0;
      for (const TiltAccount& a : fewer.accounts) probability += a.probability;
      CHECK_THAT(probability, WithinAbs(1, 1e-12));
      for (const auto kind : {CriterionKind::kLeast, CriterionKind::kEqual}) {
        const RootDistribution all(kind, whole, RootOf::kTilt), some(kind, fewer, RootOf::kTilt);
        const double u = (all.quantile_rad(0.8413).value() - all.quantile_rad(0.1587).value()) / 2;
        for (const double p : {0.025, 0.1587, 0.5, 0.8413, 0.975}) {
          CHECK_THAT(some.quantile_rad(p).value(), WithinAbs(all.quantile_rad(p).value(), 0.001 * u));
        }
      }
    }
  }
}

TEST_CASE("Two merged accounts have the mean and the variance of their mixture, and name no step") {
  TiltAccount a;
  a.common = Eigen::VectorXd::Zero(kCommonSize);
  a.covariance = a.known_covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  a.signal_covariance = Eigen::MatrixXd::Zero(kCommonSize, kCommonSize);
  a.covariance.diagonal().setConstant(4e-8);
  a.probability = 0.9985;
  TiltAccount b = a, c = a;
  b.probability = 0.0009;
  b.least_rad = 0.00001;
  b.wrong = {3};
  c.probability = 0.0006;
  c.least_rad = 0.00003;
  c.wrong = {4};
  const auto fewer = condensed({b, a, c});
  REQUIRE(fewer.size() == 2);
  CHECK(fewer[0].probability == 0.9985);
  CHECK_THAT(fewer[1].probability, WithinAbs(0.0015, 1e-15));
  CHECK_THAT(fewer[1].least_rad, WithinRel(0.000018, 1e-12));
  CHECK_THAT(fewer[1].covariance(0, 0), WithinRel(4e-8 + 0.6 * 8e-6 * 8e-6 + 0.4 * 1.2e-5 * 1.2e-5, 1e-12));
  CHECK(fewer[1].wrong.empty());
}
