// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/tilt_fit.hpp"

#include <algorithm>
#include <cmath>

#include "numeric/distributions.hpp"
#include "solve/gauge_problem.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

bool states_gauge(const GaugeProblem& problem) {
  return problem.priors.u_deg.has_value() ||
         std::all_of(problem.observations.begin(), problem.observations.end(), [](const Observation& o) { return o.gauge_u.has_value(); });
}

/// Log evidence, prior included, of a gauge that is worse than stated throughout, by a factor that may be anything from 1 to 10.
double log_evidence_understated(const GaugeProblem& problem, double stated_rad) {
  std::vector<double> each;
  for (int i = 1; i <= kUnderstatedPoints; ++i) {
    const double factor = std::pow(kUnderstatedMost, static_cast<double>(i) / kUnderstatedPoints);
    each.push_back(problem.fit(factor * problem.spreads(stated_rad), problem.scale_prior()).log_evidence);
  }
  const double largest = *std::max_element(each.begin(), each.end());
  double mean = 0;
  for (const double e : each) mean += std::exp(e - largest) / kUnderstatedPoints;
  return largest + std::log(mean) + std::log(kUnderstatedPrior);
}

/// Whether the scatter about a stated gauge is the doing of one step: it is likely wrong, clearly likelier than a gauge that is worse than
/// stated at every step, and the others agree without it.
bool one_step_explains(const GaugeProblem& problem, double stated_rad, const TiltFit& fit) {
  const TiltAccount& suspected = fit.likeliest();
  if (!suspected.wrong || suspected.probability < kNamedWrong) return false;
  const auto row = static_cast<Eigen::Index>(*suspected.wrong);
  Eigen::VectorXd u = problem.spreads(stated_rad);
  Eigen::VectorXd wrong = u;
  wrong[row] = std::hypot(u[row], kWrongSpread_rad);
  const double log_odds =
      problem.log_prior(true) + problem.fit(wrong, problem.scale_prior()).log_evidence - log_evidence_understated(problem, stated_rad);
  if (log_odds < kClearlyWrong) return false;
  u[row] = kDropped_rad;
  const double nu = static_cast<double>(problem.size()) - (problem.priors.in_degrees ? 2 : 3);
  return nu < 1 || numeric::chi_square_upper(problem.fit(u, problem.scale_prior()).misfit, nu) >= kUnderstated_p;
}

/// k with no prior. Its uncertainty by the settings' own scatter about the free line, and by no less than what is stated and the signal
/// knows.
void fit_free_scale(const GaugeProblem& problem, TiltFit& result) {
  if (problem.size() < 2 || !problem.spread_of_log()) return;
  const double stated_rad = problem.priors.u_deg ? radians(*problem.priors.u_deg) : 0.0;
  const GaugeFit fit = problem.fit(problem.spreads(stated_rad), std::nullopt);
  if (!(fit.covariance(1, 1) > 0)) return;
  const double nu = static_cast<double>(problem.size()) - 2;
  const double birge2 = nu > 0 ? std::max(1.0, fit.misfit / nu) : 1.0;
  result.free_scale = fit.theta[1];
  result.u_free_scale = std::sqrt(fit.covariance(1, 1) * birge2);
}

/// How much better the log turned round explains the tilts, whatever the gauge's scatter.
double log_odds_against_log(GaugeProblem& problem, const TiltFit& result) {
  if (problem.size() < 2 || !problem.spread_of_log()) return 0;
  if (!problem.priors.in_degrees) {
    // In user units the scale's sign itself says it: odds of a normal of that many standard deviations.
    const double z = result.u_free_scale > 0 ? result.free_scale / result.u_free_scale : 0.0;
    return -0.5 * z * std::abs(z);
  }
  const double assumed_rad = radians(problem.priors.u_deg.value_or(kAssumedGauge_deg));
  const auto best = [&](const ScalePrior& prior) {
    if (problem.size() < 3) return problem.system(problem.spreads(assumed_rad)).with(prior).log_evidence();
    double largest = -HUGE_VAL;
    for (const GaugeSystem& system : problem.on_grid()) largest = std::max(largest, system.with(prior).log_evidence());
    return largest;
  };
  const ScalePrior prior = *problem.scale_prior();
  return best({-prior.centre, prior.u}) - best(prior);
}

/// Common terms that no signal of the session shows.
void add_common_terms(const GaugePriors& priors, std::vector<TiltAccount>& accounts) {
  const double u_rad = radians(std::hypot(priors.u_zero_deg, priors.u_record_deg));
  for (TiltAccount& account : accounts) {
    account.covariance(0, 0) += u_rad * u_rad;
    account.known_covariance(0, 0) += u_rad * u_rad;
  }
}

}  // namespace

const TiltAccount& TiltFit::likeliest() const {
  return *std::max_element(accounts.begin(), accounts.end(), [](const auto& a, const auto& b) { return a.probability < b.probability; });
}

double TiltFit::probability_wrong(std::size_t observation) const { return probabilities_wrong(observation + 1).back(); }

std::vector<double> TiltFit::probabilities_wrong(std::size_t observations) const {
  std::vector<double> p(observations);
  for (const TiltAccount& account : accounts) {
    if (account.wrong && *account.wrong < observations) p[*account.wrong] += account.probability;
  }
  return p;
}

TiltAccount fit_as_stated(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& priors) {
  const GaugeProblem problem(observations, signal, priors);
  TiltAccount account;
  account.probability = 1;
  account.gauge_u_rad = radians(priors.u_deg.value_or(0));
  join(signal, problem.fit(problem.spreads(account.gauge_u_rad), problem.scale_prior()), account);
  return account;
}

TiltFit fit_tilt(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& priors) {
  // Until the scale is known, a spread stated in user units is turned into degrees by the steps' own scale.
  GaugeProblem problem(observations, signal, priors);
  if (!priors.in_degrees) problem.rad_per_unit = radians(std::abs(problem.fit(problem.spreads(0), std::nullopt).theta[1]));
  const std::size_t n = observations.size();
  TiltFit result;
  const bool can_estimate = n >= 3 && problem.spread_of_log();
  if (states_gauge(problem)) {
    const double stated_rad = radians(problem.priors.u_deg.value_or(0));
    result.accounts = stated_accounts(problem, stated_rad);
    const double nu = static_cast<double>(n) - (priors.in_degrees ? 1 : 2);
    if (nu >= 1)
      result.stated_p_value = numeric::chi_square_upper(problem.fit(problem.spreads(stated_rad), problem.scale_prior()).misfit, nu);
    if (can_estimate && result.stated_p_value < kUnderstated_p && !one_step_explains(problem, stated_rad, result)) {
      result.gauge = GaugeKnowledge::kUnderstated;
    }
  } else {
    result.gauge = can_estimate ? GaugeKnowledge::kEstimated : GaugeKnowledge::kAssumed;
  }
  if (result.gauge == GaugeKnowledge::kAssumed) result.accounts = stated_accounts(problem, radians(kAssumedGauge_deg));
  if (result.gauge == GaugeKnowledge::kEstimated || result.gauge == GaugeKnowledge::kUnderstated) {
    result.accounts = n >= kScatterFrom ? scatter_accounts(problem) : grid_accounts(problem, result.gauge == GaugeKnowledge::kUnderstated);
  }
  fit_free_scale(problem, result);
  result.log_odds_against_log = log_odds_against_log(problem, result);
  add_common_terms(priors, result.accounts);
  return result;
}

}  // namespace evenwall::internal::solve
