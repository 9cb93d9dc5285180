// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/tilt_fit.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "evenwall/error.hpp"
#include "numeric/distributions.hpp"
#include "solve/gauge_accounts.hpp"
#include "solve/gauge_structures.hpp"
#include "solve/method_constants.hpp"
#include "solve/signal_scale.hpp"

namespace evenwall::internal::solve {
namespace {

bool states_gauge(const GaugeProblem& problem) {
  return problem.priors.u_deg.has_value() ||
         std::all_of(problem.observations.begin(), problem.observations.end(), [](const Observation& o) { return o.gauge_u.has_value(); });
}

/// Log evidence, prior included, of a gauge that is worse than stated throughout, by any factor from 1 to 10.
double log_evidence_understated(GaugeProblem& problem, double stated_rad) {
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

std::size_t settings_of(const GaugeProblem& problem, const std::vector<std::size_t>& observations) {
  std::set<Eigen::Index> settings;
  for (const std::size_t o : observations) settings.insert(problem.line().setting_of(o));
  return settings.size();
}

/// Whether one or two wrong steps explain the scatter about a stated gauge: they are probably wrong, clearly more probable than a gauge
/// that is worse than stated at every step, and the others agree without them.
bool one_step_explains(GaugeProblem& problem, double stated_rad, const TiltFit& fit) {
  const TiltAccount& suspected = fit.likeliest();
  if (suspected.wrong.empty() || suspected.probability < kNamedWrong) return false;
  Eigen::VectorXd u = problem.spreads(stated_rad);
  std::vector<double> log_evidence;
  for (const WrongSpread& spread : wrong_spreads({0})) {
    Eigen::VectorXd wrong = u;
    for (const std::size_t o : suspected.wrong) {
      const auto row = static_cast<Eigen::Index>(o);
      wrong[row] = std::hypot(u[row], spread.rad);
    }
    log_evidence.push_back(spread.log_share + problem.fit(wrong, problem.scale_prior()).log_evidence);
  }
  for (const std::size_t o : suspected.wrong) u[static_cast<Eigen::Index>(o)] = kDropped_rad;
  const auto settings = static_cast<double>(settings_of(problem, suspected.wrong));
  const double log_odds = settings * problem.log_prior(1) + log_sum(log_evidence) - log_evidence_understated(problem, stated_rad);
  if (log_odds < kClearlyWrong) return false;
  // Repeats of one setting show the lowering, whose spread is as they determine it.
  const double nu = static_cast<double>(problem.size()) - settings - (problem.priors.in_degrees ? 1 : 2);
  return nu < 1 || numeric::chi_square_upper(problem.fit(u, problem.scale_prior()).misfit, nu) >= kUnderstated_p;
}

/// Fits k without a prior. Its uncertainty follows from the settings' own scatter about the free line, but is not below that of the stated
/// gauge and the signal.
void fit_free_scale(GaugeProblem& problem, TiltFit& result) {
  if (problem.size() < 2 || !problem.spread_of_log()) return;
  double u_rad = problem.priors.u_deg ? radians(*problem.priors.u_deg) : 0.0;
  // Captures of one setting share its error, so their number does not count as settings: the settings' spread is put into the fit instead.
  if (problem.line().repeats()) u_rad = std::max(u_rad, problem.likeliest_on_grid().setting_rad);
  const GaugeFit fit = problem.fit(problem.spreads(u_rad), std::nullopt);
  if (!(fit.covariance(1, 1) > 0)) return;
  const double nu = problem.line().repeats() ? 0.0 : static_cast<double>(problem.size()) - 2;
  const double birge2 = nu > 0 ? std::max(1.0, fit.misfit / nu) : 1.0;
  result.free_scale = fit.theta[1];
  result.u_free_scale = std::sqrt(fit.covariance(1, 1) * birge2);
}

/// Log odds that the reversed log explains the tilts better, each at the gauge's scatter that suits it best. Two exchanged rows can reverse
/// the slope, too. `log_exchanged`: ln of prior × evidence of that.
double log_odds_against_log(GaugeProblem& problem, const TiltFit& result, double log_exchanged) {
  if (problem.size() < 2 || !problem.spread_of_log()) return 0;
  if (!problem.priors.in_degrees) {
    // In user units the scale's sign itself shows it: odds of a normal deviate of that many standard deviations.
    const double z = result.u_free_scale > 0 ? result.free_scale / result.u_free_scale : 0.0;
    return -0.5 * z * std::abs(z);
  }
  const double assumed_rad = radians(problem.priors.u_deg.value_or(kAssumedGauge_deg));
  const auto best = [&](const ScalePrior& prior) {
    if (problem.size() < 3) return problem.system(problem.errors(assumed_rad)).with(prior).log_evidence();
    double largest = -HUGE_VAL;
    for (const auto& on_grid : problem.on_grid()) largest = std::max(largest, on_grid.system.with(prior).log_evidence());
    return largest;
  };
  const ScalePrior prior = *problem.scale_prior();
  return best({-prior.centre, prior.u}) - std::max(best(prior), log_exchanged);
}

/// Adds the common terms that no signal of the session shows.
void add_common_terms(const GaugePriors& priors, std::vector<TiltAccount>& accounts) {
  const double u_rad = radians(std::hypot(priors.u_zero_deg, priors.u_record_deg));
  for (TiltAccount& account : accounts) {
    account.covariance(0, 0) += u_rad * u_rad;
    account.known_covariance(0, 0) += u_rad * u_rad;
  }
}

/// p-value of the settings' scatter about a stated gauge, with no setting wrong. Its chi-square is the misfit of the fit minus that among
/// the captures of one setting.
double stated_p_value(GaugeProblem& problem, double stated_rad) {
  const double nu = static_cast<double>(problem.settings()) - (problem.priors.in_degrees ? 1 : 2);
  if (!(nu >= 1)) return 1;
  double misfit = problem.fit(problem.spreads(stated_rad), problem.scale_prior()).misfit;
  if (problem.line().repeats())
    misfit -= problem.fit(Eigen::VectorXd::Constant(problem.size(), kDropped_rad), problem.scale_prior()).misfit;
  return numeric::chi_square_upper(std::max(0.0, misfit), nu);
}

/// For one or two settings without a stated gauge: a usual gauge or, with equal weight, one whose log is also rounded.
WeighedAccounts assumed_accounts(const GaugeProblem& problem) {
  const double usual_rad = radians(kAssumedGauge_deg);
  WeighedAccounts accounts = stated_accounts(problem, usual_rad);
  const double rounded_rad = rounding_rad(problem);
  if (!(rounded_rad > 0)) return accounts;
  accounts.append(stated_accounts(problem, std::hypot(usual_rad, rounded_rad)));
  return accounts;
}

/// Accounts of settings whose errors are independent, weighed with that structure's prior. Determines `result.gauge`.
WeighedAccounts usual_accounts(GaugeProblem& problem, double stated_rad, bool can_estimate, TiltFit& result) {
  if (result.gauge == GaugeKnowledge::kAssumed) return assumed_accounts(problem);
  const auto by_scatter = [&](bool understated) {
    return problem.settings() >= static_cast<Eigen::Index>(kScatterFrom) ? scatter_accounts(problem) : grid_accounts(problem, understated);
  };
  if (result.gauge == GaugeKnowledge::kEstimated) {
    WeighedAccounts accounts = by_scatter(false);
    accounts.shift(std::log(problem.priors.in_degrees ? kIndependentPrior : kCountedIndependentPrior));
    return accounts;
  }
  WeighedAccounts accounts = stated_accounts(problem, stated_rad);
  accounts.shift(std::log(problem.priors.in_degrees ? kIndependentPrior : kCountedIndependentPrior));
  TiltFit alone;
  WeighedAccounts judged = accounts;
  alone.accounts = std::move(judged).normalised();
  problem.suppose(likely_signal_case(alone.accounts));
  result.stated_p_value = stated_p_value(problem, stated_rad);
  if (!can_estimate || result.stated_p_value >= kUnderstated_p || one_step_explains(problem, stated_rad, alone)) return accounts;
  result.gauge = GaugeKnowledge::kUnderstated;
  const double as_stated = accounts.log_total();
  accounts = by_scatter(true);
  accounts.shift(log_sum({as_stated, std::log(kUnderstatedPrior) + accounts.log_total()}) - accounts.log_total());
  return accounts;
}

/// Adds the structures that the captures support. The errors of counted moves add up by their nature and need no evidence. Returns ln of
/// prior × evidence of two exchanged rows.
double add_structures(const GaugeProblem& problem, OptionalNumber stated_rad, WeighedAccounts& accounts) {
  const bool counted = !problem.priors.in_degrees;
  const double independent = accounts.log_total() - std::log(counted ? kCountedIndependentPrior : kIndependentPrior);
  struct Prior {
    GaugeStructure structure;
    double of_degrees, of_counts;
  };
  constexpr Prior kPriors[] = {{GaugeStructure::kWalk, kWalkPrior, kCountedWalkPrior},
                               {GaugeStructure::kWalkAndSettings, kWalkAndSettingsPrior, kCountedWalkAndSettingsPrior},
                               {GaugeStructure::kBacklash, kBacklashPrior, kBacklashPrior},
                               {GaugeStructure::kDrift, kDriftPrior, kDriftPrior}};
  WeighedAccounts all = accounts;
  for (const Prior& p : kPriors) {
    const Candidates candidates = structure_candidates(problem, p.structure, stated_rad);
    const bool walks = p.structure == GaugeStructure::kWalk || p.structure == GaugeStructure::kWalkAndSettings;
    // Most captures show no structure, and half of the time of a fit would be spent on accounts that are not used.
    if (!(candidates.log_total() > independent + std::log(kStructureShows)) && !(counted && walks)) continue;
    WeighedAccounts structured = candidates.accounts();
    // Beside a stated spread of the settings, a walk always includes independent errors.
    const bool both = stated_rad && p.structure == GaugeStructure::kWalk;
    structured.shift(
        std::log((counted ? p.of_counts : p.of_degrees) + (both ? (counted ? kCountedWalkAndSettingsPrior : kWalkAndSettingsPrior) : 0.0)));
    all.append(std::move(structured));
  }
  WeighedAccounts exchanged = exchanged_accounts(problem, stated_rad);
  exchanged.shift(std::log(counted ? kCountedIndependentPrior : kIndependentPrior));
  const double log_exchanged = exchanged.log_total();
  all.append(std::move(exchanged));
  accounts = std::move(all);
  return log_exchanged;
}

/// Whether another structure, or two exchanged rows, explains a gauge that seems worse than stated throughout.
bool structure_explains(const TiltFit& fit) {
  const double walk = fit.probability_of(GaugeStructure::kWalk) + fit.probability_of(GaugeStructure::kWalkAndSettings);
  const double hysteresis = std::max(fit.probability_of(GaugeStructure::kBacklash), fit.probability_of(GaugeStructure::kDrift));
  const auto exchange = fit.exchange();
  return std::max({walk, hysteresis, exchange ? exchange->probability : 0.0}) > kNamedWrong;
}

}  // namespace

const TiltAccount& TiltFit::likeliest() const {
  return *std::max_element(accounts.begin(), accounts.end(), [](const auto& a, const auto& b) { return a.probability < b.probability; });
}

TiltFit::Scale TiltFit::scale_by_signal() const {
  double wrong = 0;
  for (const TiltAccount& a : accounts) wrong += a.wrong.empty() ? 0 : a.probability;
  const TiltAccount& best = likeliest();
  if (wrong > kNamedWrong && !best.wrong.empty()) return {best.scale, std::sqrt(std::max(0.0, best.covariance(1, 1)))};
  return {free_scale, u_free_scale};
}

double TiltFit::probability_wrong(std::size_t observation) const { return probabilities_wrong(observation + 1).back(); }

std::vector<double> TiltFit::probabilities_wrong(std::size_t observations) const {
  std::vector<double> p(observations);
  for (const TiltAccount& account : accounts) {
    for (const std::size_t o : account.wrong) {
      if (o < observations) p[o] += account.probability;
    }
  }
  return p;
}

double TiltFit::probability_of(GaugeStructure structure) const {
  double p = 0;
  for (const TiltAccount& account : accounts) p += account.structure == structure ? account.probability : 0.0;
  return p;
}

std::optional<TiltFit::Exchange> TiltFit::exchange() const {
  std::map<std::array<std::size_t, 2>, double> pairs;
  for (const TiltAccount& account : accounts) {
    if (account.exchanged) pairs[*account.exchanged] += account.probability;
  }
  const auto likeliest = std::max_element(pairs.begin(), pairs.end(), [](const auto& a, const auto& b) { return a.second < b.second; });
  return likeliest == pairs.end() ? std::nullopt : std::optional(Exchange{likeliest->first, likeliest->second});
}

void throw_no_numbers() {
  throw Error(ErrorKind::kData, "the fit of the logged tilts and the recordings gives no finite result. Check the tilt column of the log.");
}

TiltAccount fit_as_stated(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& priors) {
  GaugeProblem problem(observations, signal, priors);
  TiltAccount account;
  account.probability = 1;
  account.gauge_u_rad = radians(priors.u_deg.value_or(0));
  join(signal, problem.fit(problem.spreads(account.gauge_u_rad), problem.scale_prior()), account);
  return account;
}

TiltFit fit_tilt(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& priors) {
  if (!signal.psi_rad.allFinite() || !signal.covariance.variances().allFinite()) throw_no_numbers();
  // Until the scale is known, a spread stated in user units is converted to degrees by the steps' own scale.
  GaugeProblem problem(observations, signal, priors);
  if (!priors.in_degrees) problem.rad_per_unit = radians(std::abs(problem.system(problem.errors(0)).fit().theta[1]));
  TiltFit result;
  const bool can_estimate = problem.settings() >= 3 && problem.spread_of_log();
  const bool stated = states_gauge(problem);
  const double stated_rad = radians(problem.priors.u_deg.value_or(0));
  if (stated) {
    result.gauge = GaugeKnowledge::kStated;
  } else {
    result.gauge = can_estimate ? GaugeKnowledge::kEstimated : GaugeKnowledge::kAssumed;
  }
  WeighedAccounts accounts = usual_accounts(problem, stated_rad, can_estimate, result);
  const double log_exchanged =
      can_estimate ? add_structures(problem, stated ? OptionalNumber(stated_rad) : std::nullopt, accounts) : -HUGE_VAL;
  result.accounts = std::move(accounts).normalised();
  if (result.gauge == GaugeKnowledge::kUnderstated && structure_explains(result)) result.gauge = GaugeKnowledge::kStated;
  result.settings = static_cast<std::size_t>(problem.settings());
  result.lowering_rad = problem.likely_lowering_rad();
  fit_free_scale(problem, result);
  result.log_odds_against_log = log_odds_against_log(problem, result, log_exchanged);
  add_signal_scales(priors.signal_scales, result.accounts);
  add_common_terms(priors, result.accounts);
  result.u_zero_rad = radians(priors.u_zero_deg);
  return result;
}

}  // namespace evenwall::internal::solve
