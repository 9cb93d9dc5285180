// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_problem.hpp"

#include "solve/joint_fit.hpp"
#include "support/catch.hpp"
#include "support/dense_gauge.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

struct Example {
  std::vector<Observation> observations;
  SignalFit signal;
  GaugePriors priors;
};

/// A session of a rig's own, gauge errors and now and then a step logged wrong.
Example random_example(rig::Draw& draw, int steps) {
  const rig::Rig r = rig::random_rig(draw);
  const double gauge_deg = std::pow(10, draw.uniform(-3, -0.7));
  Session session;
  for (int i = 0; i < steps; ++i) {
    const double logged = std::round(10 * (-2.5 + 5.0 * i / (steps - 1))) / 10;
    const double wrong = draw.uniform(0, 1) < 0.1 ? draw.uniform(-1, 1) : 0;
    session.steps.push_back(rig::step(r, logged + gauge_deg * draw.normal() + wrong, logged, 1e-4, draw, i));
  }
  const JointFit joint = fit_jointly(session, {});
  Example e{joint.observations.fitted, joint.signal, joint.gauge};
  if (draw.uniform(0, 1) < 0.3) e.observations[1].gauge_u = 0.1;
  e.priors.in_degrees = draw.uniform(0, 1) < 0.7;
  return e;
}

OptionalNumber u_of(const std::optional<ScalePrior>& prior) { return prior ? OptionalNumber(prior->u) : std::nullopt; }

/// In standard deviations of the dense fit.
double apart(const TiltAccount& account, const dense::GaugeFit& fit, double widened = 1) {
  Eigen::VectorXd here(2 + kCommonSize), there(2 + kCommonSize);
  here << account.least_rad, account.scale, account.common;
  there << fit.theta, fit.common;
  const Eigen::VectorXd u = fit.joint.diagonal().cwiseSqrt();
  const double values = (here - there).cwiseQuotient(u).cwiseAbs().maxCoeff();
  const double spreads = (account.covariance / widened - fit.joint).cwiseQuotient(u * u.transpose()).cwiseAbs().maxCoeff();
  return std::max(values, spreads);
}

}  // namespace

TEST_CASE("Another spread of one step is what a fit of its own makes of it, for each step in turn") {
  for (std::uint64_t seed = 1; seed <= 60; ++seed) {
    INFO("seed " << seed);
    rig::Draw draw(seed);
    const Example e = random_example(draw, 4 + static_cast<int>(draw.uniform(0, 20)));
    GaugeProblem problem(e.observations, e.signal, e.priors);
    const auto prior = problem.scale_prior();
    const Eigen::VectorXd u = problem.spreads(radians(std::pow(10, draw.uniform(-4, -0.3))));
    GaugeSystem system = problem.system(u).with(prior);
    system.weigh_steps();
    const auto dense_with = [&](const Eigen::VectorXd& spreads) {
      return dense::fit_gauge(e.observations, e.signal, spreads, e.priors.scale_centre, u_of(prior));
    };
    const dense::GaugeFit all = dense_with(u);
    // Evidence: rounding of a misfit that may be 1e4 where a wrong step stands against a fine gauge.
    CHECK_THAT(system.log_evidence(), WithinAbs(all.log_evidence, 1e-9 * (1 + all.misfit)));
    CHECK_THAT(system.misfit(), WithinAbs(all.misfit, 1e-9 * (1 + all.misfit)));
    for (Eigen::Index j = 0; j < problem.size(); ++j) {
      for (const double wrong_rad : {kDropped_rad, std::hypot(u[j], kWrongSpread_rad), 1e-6}) {
        Eigen::VectorXd changed = u;
        changed[j] = wrong_rad;
        const dense::GaugeFit dense = dense_with(changed);
        CHECK_THAT(system.log_evidence_with(j, wrong_rad), WithinAbs(dense.log_evidence, 1e-9 * (1 + dense.misfit)));
        const GaugeFit fit = system.fit_with(j, wrong_rad);
        TiltAccount account;
        join(e.signal, fit, account);
        CHECK(apart(account, dense) < 1e-7);
        CHECK_THAT(fit.misfit, WithinAbs(dense.misfit, 1e-9 * (1 + dense.misfit)));
      }
    }
  }
}

TEST_CASE("Accounts of a stated and of an estimated gauge are those of dense fits, step by step, spread by spread") {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    INFO("seed " << seed);
    rig::Draw draw(seed);
    const Example e = random_example(draw, 4 + static_cast<int>(draw.uniform(0, 8)));
    GaugeProblem problem(e.observations, e.signal, e.priors);
    const auto prior = problem.scale_prior();
    const auto fit = [&](const Eigen::VectorXd& u, bool with_prior) {
      return dense::fit_gauge(e.observations, e.signal, u, e.priors.scale_centre, with_prior ? u_of(prior) : std::nullopt);
    };
    const std::vector<TiltAccount> accounts = scatter_accounts(problem);
    std::vector<double> log_weight;
    for (const TiltAccount& account : accounts) {
      dense::GaugeFit best;
      double restricted = -INFINITY, weight = 0;
      for (const double g : GaugeProblem::grid()) {
        Eigen::VectorXd u = problem.spreads(g), dropped = u;
        if (account.wrong) {
          u[static_cast<Eigen::Index>(*account.wrong)] = std::hypot(g, kWrongSpread_rad);
          dropped[static_cast<Eigen::Index>(*account.wrong)] = kDropped_rad;
        }
        const dense::GaugeFit flat = fit(dropped, false);
        if (flat.log_evidence > restricted) {
          restricted = flat.log_evidence;
          best = flat;
        }
        const double usual = g / radians(0.2), s2 = problem.mean_signal_variance();
        weight += std::exp(fit(u, true).log_evidence - fit(problem.spreads(GaugeProblem::grid().back()), true).log_evidence) * g * g /
                  (s2 + g * g) / (1 + usual * usual);
      }
      log_weight.push_back(problem.log_prior(account.wrong.has_value()) + std::log(weight));
      CHECK(apart(account, best, best.misfit / account.degrees_of_freedom) < 1e-7);
    }
    std::vector<TiltAccount> weighed = accounts;
    normalise(weighed, log_weight);
    for (std::size_t a = 0; a < accounts.size(); ++a) CHECK_THAT(accounts[a].probability, WithinAbs(weighed[a].probability, 1e-8));

    const double u_rad = radians(0.05);
    for (const TiltAccount& account : stated_accounts(problem, u_rad)) {
      Eigen::VectorXd u = problem.spreads(u_rad);
      if (account.wrong) {
        const auto j = static_cast<Eigen::Index>(*account.wrong);
        u[j] = std::hypot(u[j], kWrongSpread_rad);
      }
      CHECK(apart(account, fit(u, true)) < 1e-7);
    }
  }
}

TEST_CASE("A thousand steps' evidence is beyond a double, their probabilities are not") {
  rig::Draw draw(5);
  const Example e = random_example(draw, 600);
  GaugeProblem problem(e.observations, e.signal, e.priors);
  double sum = 0;
  for (const TiltAccount& account : scatter_accounts(problem)) sum += account.probability;
  CHECK_THAT(sum, WithinAbs(1, 1e-9));
}
