// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_problem.hpp"

#include <cmath>

#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

/// Prior weight of a gauge scatter, flat in its logarithm above what the signal can tell (Jeffreys), large ones rarer.
double log_gauge_prior(const GaugeProblem& problem, double u_rad) {
  const double usual = u_rad / kUsualGauge_rad;
  return std::log(u_rad * u_rad / (problem.mean_signal_variance() + u_rad * u_rad) / (1 + usual * usual));
}

/// One account of scatter in the making: who is wrong, the likeliest spread, the evidence summed over all spreads.
struct GaugeScatter {
  std::optional<Eigen::Index> wrong;
  std::size_t best = 0;
  double restricted = -HUGE_VAL;
  double largest = -HUGE_VAL;  ///< ln of the largest term of the sum
  double sum = 0;              ///< over it: of a thousand steps a term alone is beyond any double

  void take(std::size_t g, double restricted_here, double log_weight) {
    if (restricted_here > restricted) {
      restricted = restricted_here;
      best = g;
    }
    if (log_weight > largest) {
      sum *= std::exp(largest - log_weight);
      largest = log_weight;
    }
    sum += std::exp(log_weight - largest);
  }
  [[nodiscard]] double log_weight() const { return largest + std::log(sum); }
};

/// Every account's scatter. One spread after the other, so that what its fits have in common is worked out once.
std::vector<GaugeScatter> scatters(GaugeProblem& problem) {
  std::vector<GaugeScatter> all(1);
  for (Eigen::Index j = 0; problem.may_name_wrong() && j < problem.size(); ++j) all.emplace_back().wrong = j;
  const auto prior = problem.scale_prior();
  auto& systems = problem.on_grid();
  for (std::size_t g = 0; g < systems.size(); ++g) {
    const double u_rad = GaugeProblem::grid()[g];
    const double shift = log_gauge_prior(problem, u_rad);
    GaugeSystem with_prior = systems[g].with(prior);
    with_prior.weigh_steps();
    systems[g].weigh_steps();
    all[0].take(g, systems[g].log_evidence(), with_prior.log_evidence() + shift);
    for (std::size_t s = 1; s < all.size(); ++s) {
      const Eigen::Index j = *all[s].wrong;
      all[s].take(g, systems[g].log_evidence_with(j, kDropped_rad),
                  with_prior.log_evidence_with(j, std::hypot(u_rad, kWrongSpread_rad)) + shift);
    }
  }
  return all;
}

/// Accounts of one problem, each with the logarithm of its weight.
class WeighedAccounts {
 public:
  explicit WeighedAccounts(const GaugeProblem& problem) : signal_(problem.signal) {}

  /// Returns the account, until the next is added.
  TiltAccount& add(std::optional<Eigen::Index> wrong, double gauge_u_rad, const GaugeFit& fit, double log_weight) {
    TiltAccount& account = accounts_.emplace_back();
    if (wrong) account.wrong = static_cast<std::size_t>(*wrong);
    account.gauge_u_rad = gauge_u_rad;
    join(signal_, fit, account);
    log_weight_.push_back(log_weight);
    return account;
  }

  [[nodiscard]] std::vector<TiltAccount> normalised() && {
    normalise(accounts_, log_weight_);
    return std::move(accounts_);
  }

 private:
  const SignalFit& signal_;
  std::vector<TiltAccount> accounts_;
  std::vector<double> log_weight_;
};

}  // namespace

GaugeProblem::GaugeProblem(const std::vector<Observation>& all, const SignalFit& fitted, const GaugePriors& known)
    : observations(all),
      signal(fitted),
      priors(known),
      line_(all, fitted),
      mean_signal_variance_(fitted.covariance.variances().head(line_.size()).mean()) {}

std::optional<ScalePrior> GaugeProblem::scale_prior() const {
  if (!priors.in_degrees) return std::nullopt;
  return ScalePrior{priors.scale_centre, std::max(priors.u_scale, kLeastScale_u)};
}

Eigen::VectorXd GaugeProblem::spreads(double general_rad) const {
  Eigen::VectorXd u(size());
  for (Eigen::Index i = 0; i < size(); ++i) {
    const auto& own = observations[static_cast<std::size_t>(i)].gauge_u;
    u[i] = std::max(kLeastGauge_rad, own ? *own * rad_per_unit : general_rad);
  }
  return u;
}

bool GaugeProblem::spread_of_log() const {
  const auto differs = [&](const Observation& o) { return o.logged != observations.front().logged; };
  return std::any_of(observations.begin(), observations.end(), differs);
}

double GaugeProblem::log_prior(bool wrong) const {
  const double n = static_cast<double>(size());
  return std::log(wrong ? kProbabilityWrong : std::max(0.5, 1 - n * kProbabilityWrong));
}

const std::vector<double>& GaugeProblem::grid() {
  static const std::vector<double> kGrid = [] {
    std::vector<double> grid{kLeastGauge_rad};
    for (int i = 0; i < kGaugeGridPoints; ++i) {
      grid.push_back(radians(kGaugeGridLow_deg * std::pow(kGaugeGridHigh_deg / kGaugeGridLow_deg, i / (kGaugeGridPoints - 1.0))));
    }
    return grid;
  }();
  return kGrid;
}

std::vector<GaugeSystem>& GaugeProblem::on_grid() {
  if (on_grid_.empty()) {
    for (const double g : grid()) on_grid_.push_back(system(spreads(g)));
  }
  return on_grid_;
}

void normalise(std::vector<TiltAccount>& accounts, const std::vector<double>& log_weight) {
  const double largest = *std::max_element(log_weight.begin(), log_weight.end());
  double total = 0;
  for (const double w : log_weight) total += std::exp(w - largest);
  for (std::size_t i = 0; i < accounts.size(); ++i) accounts[i].probability = std::exp(log_weight[i] - largest) / total;
}

std::vector<TiltAccount> stated_accounts(const GaugeProblem& problem, double general_rad) {
  const Eigen::VectorXd u_rad = problem.spreads(general_rad);
  const double mean_rad = std::sqrt(u_rad.cwiseAbs2().mean());
  GaugeSystem system = problem.system(u_rad).with(problem.scale_prior());
  if (problem.may_name_wrong()) system.weigh_steps();
  WeighedAccounts accounts(problem);
  const GaugeFit nobody = system.fit();
  accounts.add(std::nullopt, mean_rad, nobody, problem.log_prior(false) + nobody.log_evidence);
  for (Eigen::Index j = 0; problem.may_name_wrong() && j < problem.size(); ++j) {
    const GaugeFit fit = system.fit_with(j, std::hypot(u_rad[j], kWrongSpread_rad));
    accounts.add(j, mean_rad, fit, problem.log_prior(true) + fit.log_evidence);
  }
  return std::move(accounts).normalised();
}

std::vector<TiltAccount> scatter_accounts(GaugeProblem& problem) {
  WeighedAccounts accounts(problem);
  const auto& systems = problem.on_grid();
  for (const GaugeScatter& s : scatters(problem)) {
    const GaugeFit fit = s.wrong ? systems[s.best].fit_with(*s.wrong, kDropped_rad) : systems[s.best].fit();
    TiltAccount& account =
        accounts.add(s.wrong, GaugeProblem::grid()[s.best], fit, problem.log_prior(s.wrong.has_value()) + s.log_weight());
    account.degrees_of_freedom = std::max(1.0, static_cast<double>(problem.size()) - (s.wrong ? 3 : 2));
    // The whole joint covariance, never one block of it: it must stay positive semidefinite.
    account.covariance *= fit.misfit / account.degrees_of_freedom;
  }
  return std::move(accounts).normalised();
}

std::vector<TiltAccount> grid_accounts(GaugeProblem& problem, bool understated) {
  WeighedAccounts accounts(problem);
  // What steps state of their own is part of the scatter, or all of it; not where the scatter has shown it to be too small.
  const Eigen::VectorXd own = problem.spreads(0);
  const auto add = [&](double g, const GaugeSystem& system) {
    const GaugeFit fit = system.with(problem.scale_prior()).fit();
    accounts.add(std::nullopt, g, fit, fit.log_evidence + std::log(g * g / (problem.mean_signal_variance() + g * g)));
    return fit.misfit;
  };
  const auto system_of = [&](double g) {
    return problem.system(understated ? Eigen::VectorXd((own.array().square() + g * g).sqrt()) : problem.spreads(g));
  };
  const auto& grid = GaugeProblem::grid();
  double misfit = 0;
  for (std::size_t i = 0; i < grid.size(); ++i) misfit = add(grid[i], understated ? system_of(grid[i]) : problem.on_grid()[i]);
  // A scatter that is beyond the grid's end: as far as it goes, and on until larger ones would be too large.
  const double ratio = grid.back() / grid[grid.size() - 2];
  const double nu = static_cast<double>(problem.size()) - (problem.priors.in_degrees ? 1 : 2);
  if (misfit < nu) return std::move(accounts).normalised();
  for (double g = grid.back() * ratio; g < kMostGauge_rad && misfit > kOverspread * nu; g *= ratio) misfit = add(g, system_of(g));
  return std::move(accounts).normalised();
}

}  // namespace evenwall::internal::solve
