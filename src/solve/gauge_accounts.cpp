// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_accounts.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>

#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

/// One account of scatter before it is made: the wrong settings, the likeliest spread, and the weight of each spread.
struct GaugeScatter {
  WrongSettings wrong;
  std::size_t best = 0;
  double restricted = -HUGE_VAL;
  std::vector<double> log_weights{};
};

/// Handles one spread after the other, so that the common part of its fits is computed only once.
void weigh(GaugeProblem& problem, std::vector<GaugeScatter>& all) {
  const auto scales = problem.gauge_scale_priors();
  auto& grid = problem.on_grid();
  for (std::size_t g = 0; g < grid.size(); ++g) {
    grid[g].system.weigh_settings();
    for (GaugeScatter& s : all) {
      const double restricted = log_evidence_of(grid[g].system, s.wrong, kDropped_rad);
      if (!(restricted > s.restricted)) continue;
      s.restricted = restricted;
      s.best = g;
    }
    for (const auto& scale : scales) {
      GaugeSystem with_prior = grid[g].system.with(scale.prior);
      with_prior.weigh_settings();
      for (GaugeScatter& s : all) {
        s.log_weights.push_back(log_evidence_of_wrong(with_prior, s.wrong) + grid[g].log_weight + scale.log_weight);
      }
    }
  }
}

std::vector<GaugeScatter> scatters(GaugeProblem& problem) {
  std::vector<GaugeScatter> all;
  for (WrongSettings& wrong : nobody_and_singles(problem)) all.push_back({std::move(wrong)});
  weigh(problem, all);
  std::vector<double> log_weight;
  for (const GaugeScatter& s : all) log_weight.push_back(log_sum(s.log_weights));
  std::vector<GaugeScatter> pairs;
  for (WrongSettings& wrong : likeliest_pairs(problem, log_weight)) pairs.push_back({std::move(wrong)});
  if (!pairs.empty()) weigh(problem, pairs);
  std::move(pairs.begin(), pairs.end(), std::back_inserter(all));
  return all;
}

/// Weights of the grid's spreads for three settings. If the log is rounded, weights about the spread of rounding are added, with half the
/// total of the others.
std::vector<double> log_weights_of_three(GaugeProblem& problem) {
  const auto& grid = problem.on_grid();
  std::vector<double> any, rounded;
  const double r = rounding_rad(problem);
  for (const auto& g : grid) {
    any.push_back(std::log(g.setting_rad * g.setting_rad / (problem.mean_signal_variance() + g.setting_rad * g.setting_rad)) -
                  std::log(static_cast<double>(GaugeProblem::grid().size())) +
                  (problem.line().repeats() ? g.log_weight - problem.log_gauge_prior(g.setting_rad) : 0.0));
    const double off = r > 0 ? std::log(g.setting_rad / r) / kRoundedSpread : 0.0;
    rounded.push_back(-0.5 * off * off);
  }
  const double of_any = log_sum(any);
  for (double& w : any) w -= of_any;
  if (!(r > 0)) return any;
  const double of_rounded = log_sum(rounded) - std::log(kRoundedPrior), of_both = std::log1p(kRoundedPrior);
  std::vector<double> both;
  for (std::size_t i = 0; i < any.size(); ++i) both.push_back(log_sum({any[i], rounded[i] - of_rounded}) - of_both);
  return both;
}

/// The prior that suits the k of an account best, which was found without one.
std::optional<ScalePrior> likeliest_scale_prior(const GaugeProblem& problem, const TiltAccount& account) {
  std::optional<ScalePrior> best;
  double largest = -HUGE_VAL;
  for (const auto& scale : problem.gauge_scale_priors()) {
    if (!scale.prior) continue;
    const double off = account.scale - scale.prior->centre, variance = scale.prior->u * scale.prior->u + account.covariance(1, 1);
    const double here = scale.log_weight - 0.5 * (off * off / variance + std::log(variance));
    if (!(here > largest)) continue;
    largest = here;
    best = scale.prior;
  }
  return best;
}

}  // namespace

double rounding_rad(const GaugeProblem& problem) {
  if (!problem.priors.in_degrees || problem.line().repeats()) return 0;
  for (const double r : {0.5, 0.25}) {
    const auto multiple = [&](const Observation& o) { return std::abs(std::remainder(o.logged, r)) < 1e-6; };
    if (std::all_of(problem.observations.begin(), problem.observations.end(), multiple)) return radians(r) / std::sqrt(12.0);
  }
  return 0;
}

WeighedAccounts stated_accounts(const GaugeProblem& problem, double general_rad) {
  Candidates candidates(problem);
  const double mean_rad = std::sqrt(problem.spreads(general_rad).cwiseAbs2().mean());
  const bool repeats = problem.line().repeats();
  for (const auto& r : problem.lowerings()) {
    const GaugeErrors errors = problem.errors(general_rad, r.rad);
    candidates.add(errors, mean_rad, r.log_weight + (repeats ? std::log(1 - kResetEachTime) : 0.0), Candidates::Wrong::kTwo);
    if (!repeats) continue;
    // The gauge may have been set anew for each capture, although the logged tilt is the same.
    const Eigen::VectorXd each = (errors.setting.cwiseAbs2() + errors.lowering.cwiseAbs2()).cwiseSqrt();
    candidates.add({Eigen::VectorXd::Zero(problem.size()), each}, mean_rad, r.log_weight + std::log(kResetEachTime),
                   Candidates::Wrong::kOne);
  }
  return candidates.accounts();
}

WeighedAccounts scatter_accounts(GaugeProblem& problem) {
  WeighedAccounts accounts(problem.signal);
  const auto& grid = problem.on_grid();
  const std::vector<GaugeScatter> all = scatters(problem);
  std::vector<double> log_weight;
  for (const GaugeScatter& s : all) log_weight.push_back(problem.log_prior(s.wrong.size()) + log_sum(s.log_weights));
  const double largest = *std::max_element(log_weight.begin(), log_weight.end());
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (!(log_weight[i] > largest + std::log(kLeastAccount))) continue;
    const GaugeFit fit = fit_of(grid[all[i].best].system, all[i].wrong, kDropped_rad);
    TiltAccount& account = accounts.add(fit, grid[all[i].best].setting_rad, log_weight[i]);
    account.wrong = observations_of(problem.line(), all[i].wrong);
    const double lost = 2 + static_cast<double>(all[i].wrong.size());
    account.degrees_of_freedom = std::max(1.0, static_cast<double>(problem.settings()) - lost);
    // Scale the whole joint covariance, not only a block of it: it must stay positive semidefinite.
    account.covariance *= fit.misfit / std::max(1.0, static_cast<double>(problem.size()) - lost);
    account.scale_prior = likeliest_scale_prior(problem, account);
  }
  return accounts;
}

WeighedAccounts grid_accounts(GaugeProblem& problem, bool understated) {
  WeighedAccounts accounts(problem.signal);
  // An uncertainty that a step states of its own replaces the grid's spread. If it was found too small, both are added in quadrature.
  const Eigen::VectorXd own = problem.spreads(0);
  const auto add = [&](double g, const GaugeSystem& system, double log_weight) {
    double misfit = HUGE_VAL;
    for (const auto& scale : problem.scale_priors()) {
      const GaugeFit fit = system.with(scale.prior).fit();
      accounts.add(fit, g, fit.log_evidence + log_weight + scale.log_weight);
      misfit = std::min(misfit, fit.misfit);
    }
    return misfit;
  };
  const auto system_of = [&](double g, double lowering_rad) {
    GaugeErrors errors = problem.errors(g, lowering_rad);
    if (understated) errors.setting = (own.array().square() + g * g).sqrt();
    return problem.system(errors);
  };
  const auto& grid = problem.on_grid();
  const std::vector<double> log_weight = log_weights_of_three(problem);
  const double lowering_rad = problem.likely_lowering_rad();
  double misfit = 0;
  for (std::size_t i = 0; i < grid.size(); ++i) {
    const double here =
        add(grid[i].setting_rad, understated ? system_of(grid[i].setting_rad, grid[i].lowering_rad) : grid[i].system, log_weight[i]);
    if (grid[i].lowering_rad == lowering_rad) misfit = here;
  }
  // If the scatter exceeds the grid, extend the grid until the misfit shows that a larger spread would be too large.
  const double ratio = GaugeProblem::grid().back() / GaugeProblem::grid()[GaugeProblem::grid().size() - 2];
  const double nu = static_cast<double>(problem.size()) - (problem.priors.in_degrees ? 1 : 2);
  if (misfit < nu) return accounts;
  for (double g = GaugeProblem::grid().back() * ratio; g < kMostGauge_rad && misfit > kOverspread * nu; g *= ratio) {
    misfit = add(g, system_of(g, lowering_rad), log_weight.back());
  }
  return accounts;
}

}  // namespace evenwall::internal::solve
