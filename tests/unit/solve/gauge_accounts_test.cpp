// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_accounts.hpp"

#include "support/catch.hpp"
#include "support/gauge_example.hpp"

using namespace gauge_example;

namespace {

/// The spread and the prior weight of each kind of wrong entry: a gross mistake comes with four usual ones.
std::vector<std::pair<double, double>> spreads_of(const TiltAccount& account) {
  if (account.wrong.empty()) return {{0, 1}};
  return {{radians(0.6), 1}, {radians(10.0), 0.25}};
}

Eigen::VectorXd widened(Eigen::VectorXd u, const TiltAccount& account, double spread_rad) {
  for (const std::size_t o : account.wrong) u[static_cast<Eigen::Index>(o)] = std::hypot(u[static_cast<Eigen::Index>(o)], spread_rad);
  return u;
}

}  // namespace

TEST_CASE("The hypotheses for a stated and for an estimated gauge equal those of dense fits at each spread") {
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    INFO("seed " << seed);
    rig::Draw draw(seed);
    Example e = random_example(draw, 4 + static_cast<int>(draw.uniform(0, 8)));
    e.priors.scale_stated = true;  // the scale then has one prior only
    GaugeProblem problem(e.observations, e.signal, e.priors);
    const auto prior = problem.scale_prior();
    const auto fit = [&](const Eigen::VectorXd& u, bool with_prior) {
      return dense::fit_gauge(e.observations, e.signal, u.cwiseAbs2().asDiagonal(), e.priors.scale_centre,
                              with_prior ? u_of(prior) : std::nullopt);
    };
    const std::vector<TiltAccount> accounts = scatter_accounts(problem).normalised();
    std::vector<double> log_weight;
    double largest = -INFINITY, total = 0;
    for (const TiltAccount& account : accounts) {
      dense::GaugeFit best;
      double restricted = -INFINITY;
      std::vector<double> weights;
      for (const double g : GaugeProblem::grid()) {
        const Eigen::VectorXd u = problem.spreads(g);
        Eigen::VectorXd dropped = u;
        for (const std::size_t o : account.wrong) {
          const auto row = static_cast<Eigen::Index>(o);
          dropped[row] = std::hypot(dropped[row], kDropped_rad);
        }
        const dense::GaugeFit flat = fit(dropped, false);
        if (flat.log_evidence > restricted) {
          restricted = flat.log_evidence;
          best = flat;
        }
        for (const auto& [spread_rad, share] : spreads_of(account))
          weights.push_back(std::log(share) + fit(widened(u, account, spread_rad), true).log_evidence + problem.log_gauge_prior(g));
      }
      log_weight.push_back(problem.log_prior(account.wrong.size()) + log_sum(weights));
      largest = std::max(largest, log_weight.back());
      CHECK(apart(account, best,
                  best.misfit / std::max(1.0, static_cast<double>(problem.size()) - 2 - static_cast<double>(account.wrong.size()))) < 1e-6);
    }
    for (const double w : log_weight) total += std::exp(w - largest);
    for (std::size_t a = 0; a < accounts.size(); ++a)
      CHECK_THAT(accounts[a].probability, WithinAbs(std::exp(log_weight[a] - largest) / total, 1e-8));

    const double u_rad = radians(0.05);
    for (const TiltAccount& account : stated_accounts(problem, u_rad).normalised()) {
      double nearest = INFINITY;  // of the fits with each spread that a wrong entry may have
      for (const auto& [spread_rad, share] : spreads_of(account))
        nearest = std::min(nearest, apart(account, fit(widened(problem.spreads(u_rad), account, spread_rad), true)));
      CHECK(nearest < 1e-7);
    }
  }
}

TEST_CASE("With 600 steps the evidence exceeds the range of a double, and the probabilities still add up to one") {
  rig::Draw draw(5);
  const Example e = random_example(draw, 600);
  GaugeProblem problem(e.observations, e.signal, e.priors);
  double sum = 0;
  for (const TiltAccount& account : scatter_accounts(problem).normalised()) sum += account.probability;
  CHECK_THAT(sum, WithinAbs(1, 1e-9));
}

TEST_CASE("For a gauge that scatters by 2°, spreads beyond the grid are tried") {
  rig::Draw draw(6);
  const rig::Rig r = rig::random_rig(draw);
  Session session;
  for (int i = 0; i < 8; ++i) session.steps.push_back(rig::step(r, -3.5 + i + 2 * draw.normal(), -3.5 + i, 1e-4, draw, i));
  const JointFit joint = fit_jointly(session, {});
  GaugeProblem problem(joint.observations.fitted, joint.signal, joint.gauge);
  double largest_rad = 0;
  for (const TiltAccount& account : grid_accounts(problem, false).normalised()) largest_rad = std::max(largest_rad, account.gauge_u_rad);
  CHECK(degrees(largest_rad) > 1);  // the grid ends at 0.8°
}
