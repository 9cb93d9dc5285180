#include "solve/tilt_fit.hpp"

#include <algorithm>
#include <cmath>

#include "numeric/distributions.hpp"
#include "solve/gauge_model.hpp"

namespace evenwall {
namespace {

constexpr double kProbabilityWrong = 0.02;     // of a step being logged wrong, before anything is seen (a judgement)
const double kWrongSpread_rad = radians(0.6);  // of a wrong log entry (a judgement)
const double kDropped_rad = radians(30.0);     // spread that takes a step out of the log
constexpr double kLeastScale_u = 1e-7;         // a scale stated as exact
const double kLeastGauge_rad = radians(1e-5);
constexpr double kGridLow_deg = 0.002;  // gauges better than this can't be told from perfect ones
constexpr double kGridHigh_deg = 0.8;
constexpr int kGridPoints = 25;
const double kUsualGauge_rad = radians(0.2);  // gauges worse than this are rare: half weight there (a judgement)
constexpr double kUnderstated = 0.01;         // p-value below which a stated gauge is not believed
constexpr double kNamedWrong = 0.9;           // probability from which one step is named and may explain it
constexpr double kUnderstatedPrior = 0.05;    // of a gauge worse than stated, before anything is seen (a judgement)
constexpr double kUnderstatedMost = 10.0;     // times worse, at most
constexpr int kUnderstatedPoints = 12;
constexpr double kClearly = 5.0;         // log odds, 150 to 1, for one wrong step against a gauge that is worse throughout
constexpr std::size_t kScatterFrom = 4;  // steps from which Student's t on the scatter is efficient; three take the grid

struct Problem {
  const std::vector<Observation>& observations;
  const SignalFit& signal;
  const GaugePriors& priors;
  double rad_per_unit;  // of the log, for a step's own uncertainty, which is in its unit

  [[nodiscard]] Eigen::Index size() const { return signal.psi_rad.size(); }
  [[nodiscard]] OptionalNumber u_scale() const {
    return priors.in_degrees ? OptionalNumber(std::max(priors.u_scale, kLeastScale_u)) : std::nullopt;
  }
  [[nodiscard]] GaugeFit fit(const Eigen::VectorXd& u_rad, OptionalNumber u_scale) const {
    return fit_gauge(observations, signal, u_rad, priors.scale_centre, u_scale);
  }
  /// Spread of each setting; `general` where the step states none.
  [[nodiscard]] Eigen::VectorXd spreads(double general_rad) const {
    Eigen::VectorXd u(size());
    for (Eigen::Index i = 0; i < size(); ++i) {
      const auto& own = observations[static_cast<std::size_t>(i)].gauge_u;
      u[i] = std::max(kLeastGauge_rad, own ? *own * rad_per_unit : general_rad);
    }
    return u;
  }
  [[nodiscard]] bool spread_of_log() const {
    const auto differs = [&](const Observation& o) { return o.logged != observations.front().logged; };
    return std::any_of(observations.begin(), observations.end(), differs);
  }
  [[nodiscard]] bool may_name_wrong() const { return size() >= (priors.in_degrees ? 3 : 4); }
};

double log_prior(const Problem& problem, bool wrong) {
  const double n = static_cast<double>(problem.size());
  return std::log(wrong ? kProbabilityWrong : std::max(0.5, 1 - n * kProbabilityWrong));
}

void normalise(std::vector<TiltAccount>& accounts, std::vector<double>& log_weight) {
  const double largest = *std::max_element(log_weight.begin(), log_weight.end());
  double total = 0;
  for (const double w : log_weight) total += std::exp(w - largest);
  for (std::size_t i = 0; i < accounts.size(); ++i) accounts[i].probability = std::exp(log_weight[i] - largest) / total;
}

/// Which observations may be wrong: none first, then each in turn.
std::vector<std::optional<std::size_t>> suspects(const Problem& problem) {
  std::vector<std::optional<std::size_t>> all{std::nullopt};
  if (problem.may_name_wrong()) {
    for (std::size_t j = 0; j < problem.observations.size(); ++j) all.emplace_back(j);
  }
  return all;
}

std::vector<TiltAccount> stated_accounts(const Problem& problem, double general_rad) {
  std::vector<TiltAccount> accounts;
  std::vector<double> log_weight;
  for (const auto& wrong : suspects(problem)) {
    Eigen::VectorXd u = problem.spreads(general_rad);
    if (wrong) u[static_cast<Eigen::Index>(*wrong)] = std::hypot(u[static_cast<Eigen::Index>(*wrong)], kWrongSpread_rad);
    const GaugeFit fit = problem.fit(u, problem.u_scale());
    TiltAccount account;
    account.wrong = wrong;
    account.gauge_u_rad = std::sqrt(problem.spreads(general_rad).cwiseAbs2().mean());
    join(problem.signal, fit, account);
    accounts.push_back(std::move(account));
    log_weight.push_back(log_prior(problem, wrong.has_value()) + fit.log_evidence);
  }
  normalise(accounts, log_weight);
  return accounts;
}

std::vector<double> gauge_grid() {
  std::vector<double> grid{kLeastGauge_rad};
  for (int i = 0; i < kGridPoints; ++i) {
    grid.push_back(radians(kGridLow_deg * std::pow(kGridHigh_deg / kGridLow_deg, i / (kGridPoints - 1.0))));
  }
  return grid;
}

/// Prior weight of a gauge scatter, flat in its logarithm above what the signal can tell (Jeffreys), large ones rarer.
double log_gauge_prior(const Problem& problem, double u_rad) {
  const double signal2 = problem.signal.covariance.topLeftCorner(problem.size(), problem.size()).diagonal().mean();
  const double usual = u_rad / kUsualGauge_rad;
  return std::log(u_rad * u_rad / (signal2 + u_rad * u_rad) / (1 + usual * usual));
}

/// Four steps or more: the gauge's scatter by restricted maximum likelihood, Student's t on what is left.
std::vector<TiltAccount> scatter_accounts(const Problem& problem) {
  const auto grid = gauge_grid();
  std::vector<TiltAccount> accounts;
  std::vector<double> log_weight;
  for (const auto& wrong : suspects(problem)) {
    double best = -INFINITY;
    double best_u = grid.front();
    double weight = 0;
    const double reference = problem.fit(problem.spreads(grid.back()), problem.u_scale()).log_evidence;
    for (const double g : grid) {
      Eigen::VectorXd u = problem.spreads(g);
      Eigen::VectorXd dropped = u;
      if (wrong) {
        u[static_cast<Eigen::Index>(*wrong)] = std::hypot(g, kWrongSpread_rad);
        dropped[static_cast<Eigen::Index>(*wrong)] = kDropped_rad;
      }
      const double restricted = problem.fit(dropped, std::nullopt).log_evidence;
      if (restricted > best) {
        best = restricted;
        best_u = g;
      }
      weight += std::exp(problem.fit(u, problem.u_scale()).log_evidence - reference + log_gauge_prior(problem, g));
    }
    Eigen::VectorXd u = problem.spreads(best_u);
    if (wrong) u[static_cast<Eigen::Index>(*wrong)] = kDropped_rad;
    const GaugeFit fit = problem.fit(u, std::nullopt);
    TiltAccount account;
    account.wrong = wrong;
    account.gauge_u_rad = best_u;
    join(problem.signal, fit, account);
    account.degrees_of_freedom = std::max(1.0, static_cast<double>(problem.size()) - (wrong ? 3 : 2));
    // The whole joint covariance, never one block of it: it must stay positive semidefinite.
    account.covariance *= fit.misfit / account.degrees_of_freedom;
    accounts.push_back(std::move(account));
    log_weight.push_back(log_prior(problem, wrong.has_value()) + reference + std::log(weight));
  }
  normalise(accounts, log_weight);
  return accounts;
}

/// Three steps: a mixture of normals over the grid.
std::vector<TiltAccount> grid_accounts(const Problem& problem) {
  std::vector<TiltAccount> accounts;
  std::vector<double> log_weight;
  for (const double g : gauge_grid()) {
    const GaugeFit fit = problem.fit(problem.spreads(g), problem.u_scale());
    TiltAccount account;
    account.gauge_u_rad = g;
    join(problem.signal, fit, account);
    accounts.push_back(std::move(account));
    const double signal2 = problem.signal.covariance.topLeftCorner(problem.size(), problem.size()).diagonal().mean();
    log_weight.push_back(fit.log_evidence + std::log(g * g / (signal2 + g * g)));
  }
  normalise(accounts, log_weight);
  return accounts;
}

bool states_gauge(const Problem& problem) {
  return problem.priors.u_deg.has_value() ||
         std::all_of(problem.observations.begin(), problem.observations.end(), [](const Observation& o) { return o.gauge_u.has_value(); });
}

/// Log evidence, prior included, of a gauge that is worse than stated throughout, by a factor that may be anything from 1 to 10.
double log_evidence_understated(const Problem& problem, double stated_rad) {
  std::vector<double> each;
  for (int i = 1; i <= kUnderstatedPoints; ++i) {
    const double factor = std::pow(kUnderstatedMost, static_cast<double>(i) / kUnderstatedPoints);
    each.push_back(problem.fit(factor * problem.spreads(stated_rad), problem.u_scale()).log_evidence);
  }
  const double largest = *std::max_element(each.begin(), each.end());
  double mean = 0;
  for (const double e : each) mean += std::exp(e - largest) / kUnderstatedPoints;
  return largest + std::log(mean) + std::log(kUnderstatedPrior);
}

/// Whether the scatter about a stated gauge is the doing of one step: it is likely wrong, clearly likelier than a gauge that is worse than
/// stated at every step, and the others agree without it.
bool one_step_explains(const Problem& problem, double stated_rad, const TiltFit& fit) {
  std::size_t suspect = 0;
  for (std::size_t j = 1; j < problem.observations.size(); ++j)
    suspect = fit.probability_wrong(j) > fit.probability_wrong(suspect) ? j : suspect;
  if (fit.probability_wrong(suspect) < kNamedWrong) return false;
  const auto row = static_cast<Eigen::Index>(suspect);
  Eigen::VectorXd u = problem.spreads(stated_rad);
  Eigen::VectorXd wrong = u;
  wrong[row] = std::hypot(u[row], kWrongSpread_rad);
  const double log_odds =
      log_prior(problem, true) + problem.fit(wrong, problem.u_scale()).log_evidence - log_evidence_understated(problem, stated_rad);
  if (log_odds < kClearly) return false;
  u[row] = kDropped_rad;
  const double nu = static_cast<double>(problem.size()) - (problem.priors.in_degrees ? 2 : 3);
  return nu < 1 || chi_square_upper(problem.fit(u, problem.u_scale()).misfit, nu) >= kUnderstated;
}

/// k with no prior. Its uncertainty by the settings' own scatter about the free line, and by no less than what is stated and the signal
/// knows.
void fit_free_scale(const Problem& problem, TiltFit& result) {
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
double log_odds_against_log(const Problem& problem, const TiltFit& result) {
  if (problem.size() < 2 || !problem.spread_of_log()) return 0;
  if (!problem.priors.in_degrees) {
    // In user units the scale's sign itself says it: odds of a normal of that many standard deviations.
    const double z = result.u_free_scale > 0 ? result.free_scale / result.u_free_scale : 0.0;
    return -0.5 * z * std::abs(z);
  }
  auto grid = gauge_grid();
  if (problem.size() < 3) grid = {radians(problem.priors.u_deg.value_or(kAssumedGauge_deg))};
  const auto best = [&](double centre) {
    double largest = -INFINITY;
    for (const double g : grid) {
      const GaugeFit fit = fit_gauge(problem.observations, problem.signal, problem.spreads(g), centre, problem.u_scale());
      largest = std::max(largest, fit.log_evidence);
    }
    return largest;
  };
  return best(-problem.priors.scale_centre) - best(problem.priors.scale_centre);
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

double TiltFit::probability_wrong(std::size_t observation) const {
  double p = 0;
  for (const TiltAccount& account : accounts) p += account.wrong == observation ? account.probability : 0.0;
  return p;
}

TiltAccount fit_as_stated(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& priors) {
  const Problem problem{observations, signal, priors, radians(1.0)};
  TiltAccount account;
  account.probability = 1;
  account.gauge_u_rad = radians(priors.u_deg.value_or(0));
  join(signal, problem.fit(problem.spreads(account.gauge_u_rad), problem.u_scale()), account);
  return account;
}

TiltFit fit_tilt(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& priors) {
  // Until the scale is known, a spread stated in user units is turned into degrees by the steps' own scale.
  Problem problem{observations, signal, priors, radians(1.0)};
  if (!priors.in_degrees) problem.rad_per_unit = radians(std::abs(problem.fit(problem.spreads(kLeastGauge_rad), std::nullopt).theta[1]));
  const std::size_t n = observations.size();
  TiltFit result;
  const bool can_estimate = n >= 3 && problem.spread_of_log();
  if (states_gauge(problem)) {
    const double stated_rad = radians(problem.priors.u_deg.value_or(0));
    result.accounts = stated_accounts(problem, stated_rad);
    const double nu = static_cast<double>(n) - (priors.in_degrees ? 1 : 2);
    if (nu >= 1) result.stated_p_value = chi_square_upper(problem.fit(problem.spreads(stated_rad), problem.u_scale()).misfit, nu);
    if (can_estimate && result.stated_p_value < kUnderstated && !one_step_explains(problem, stated_rad, result)) {
      result.gauge = GaugeKnowledge::kUnderstated;
    }
  } else {
    result.gauge = can_estimate ? GaugeKnowledge::kEstimated : GaugeKnowledge::kAssumed;
  }
  if (result.gauge == GaugeKnowledge::kAssumed) result.accounts = stated_accounts(problem, radians(kAssumedGauge_deg));
  if (result.gauge == GaugeKnowledge::kEstimated || result.gauge == GaugeKnowledge::kUnderstated) {
    result.accounts = n >= kScatterFrom ? scatter_accounts(problem) : grid_accounts(problem);
  }
  fit_free_scale(problem, result);
  result.log_odds_against_log = log_odds_against_log(problem, result);
  add_common_terms(priors, result.accounts);
  return result;
}

}  // namespace evenwall
