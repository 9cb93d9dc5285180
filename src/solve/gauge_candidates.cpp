// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_candidates.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <numeric>

#include "evenwall/error.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

Widened widened(const WrongSettings& settings, double by_rad) {
  return {settings, Eigen::VectorXd::Constant(static_cast<Eigen::Index>(settings.size()), by_rad * by_rad)};
}

}  // namespace

double log_sum(const std::vector<double>& logs) {
  if (logs.empty()) return -HUGE_VAL;
  const double largest = *std::max_element(logs.begin(), logs.end());
  if (!std::isfinite(largest)) return largest;
  double sum = 0;
  for (const double l : logs) sum += std::exp(l - largest);
  return largest + std::log(sum);
}

double log_evidence_of(const GaugeSystem& system, const WrongSettings& wrong, double by_rad) {
  return wrong.empty() ? system.log_evidence() : system.log_evidence_with(widened(wrong, by_rad));
}

GaugeFit fit_of(const GaugeSystem& system, const WrongSettings& wrong, double by_rad) {
  return wrong.empty() ? system.fit() : system.fit_with(widened(wrong, by_rad));
}

std::vector<WrongSpread> wrong_spreads(const WrongSettings& wrong) {
  if (wrong.empty()) return {{0, 0}};
  return {{kWrongSpread_rad, 0}, {kGrossSpread_rad, std::log(kGrossPerUsual)}};
}

double log_evidence_of_wrong(const GaugeSystem& system, const WrongSettings& wrong) {
  std::vector<double> logs;
  for (const WrongSpread& spread : wrong_spreads(wrong)) logs.push_back(spread.log_share + log_evidence_of(system, wrong, spread.rad));
  return log_sum(logs);
}

std::vector<std::size_t> observations_of(const GaugeLine& line, const WrongSettings& settings) {
  std::vector<std::size_t> all;
  for (const Eigen::Index s : settings) {
    for (const std::size_t o : line.observations_of(s)) all.push_back(o);
  }
  return all;
}

std::vector<WrongSettings> nobody_and_singles(const GaugeProblem& problem) {
  std::vector<WrongSettings> all{{}};
  if (!problem.may_name_wrong()) return all;
  for (const Eigen::Index s : problem.line().settings_by_observation()) all.push_back({s});
  return all;
}

std::vector<WrongSettings> likeliest_pairs(const GaugeProblem& problem, const std::vector<double>& log_weight) {
  if (problem.settings() < kTwoWrongFrom || !problem.may_name_wrong()) return {};
  const std::vector<Eigen::Index> settings = problem.line().settings_by_observation();
  std::vector<std::size_t> ranked(settings.size());
  std::iota(ranked.begin(), ranked.end(), std::size_t{0});
  std::stable_sort(ranked.begin(), ranked.end(), [&](std::size_t a, std::size_t b) { return log_weight[a + 1] > log_weight[b + 1]; });
  WrongSettings likeliest;
  for (const std::size_t k : ranked) likeliest.push_back(settings[k]);
  likeliest.resize(std::min(likeliest.size(), kTwoWrongAmong));
  std::vector<WrongSettings> pairs;
  for (std::size_t i = 0; i < likeliest.size(); ++i) {
    for (std::size_t k = i + 1; k < likeliest.size(); ++k) pairs.push_back({likeliest[i], likeliest[k]});
  }
  return pairs;
}

void Candidates::add(const GaugeErrors& errors, double gauge_u_rad, double log_weight, Wrong wrong_ones) {
  const GaugeSystem bare = problem_.system(errors);
  for (const auto& scale : problem_.scale_priors()) {
    recipes_.push_back({errors, scale.prior, gauge_u_rad});
    GaugeSystem system = bare.with(scale.prior);
    if (wrong_ones != Wrong::kNobody && problem_.may_name_wrong()) system.weigh_settings();
    std::vector<double> weights;
    for (const WrongSettings& wrong : wrong_ones == Wrong::kNobody ? std::vector<WrongSettings>{{}} : nobody_and_singles(problem_)) {
      weights.push_back(take(system, wrong, log_weight + scale.log_weight));
    }
    if (wrong_ones != Wrong::kTwo) continue;
    for (const WrongSettings& wrong : likeliest_pairs(problem_, weights)) take(system, wrong, log_weight + scale.log_weight);
  }
}

double Candidates::least_log_weight() const {
  double largest = -HUGE_VAL;
  for (const Candidate& c : all_) largest = std::max(largest, c.log_weight);
  return largest + std::log(kLeastAccount);
}

double Candidates::log_total() const {
  const double least = least_log_weight();
  std::vector<double> kept;
  for (const Candidate& c : all_) {
    if (c.log_weight > least) kept.push_back(c.log_weight);
  }
  return log_sum(kept);
}

WeighedAccounts Candidates::accounts() const {
  WeighedAccounts accounts(problem_.signal);
  const double least = least_log_weight();
  std::optional<GaugeSystem> system;
  std::size_t made = recipes_.size();
  bool weighed = false;
  for (const Candidate& c : all_) {
    if (!(c.log_weight > least)) continue;
    const Recipe& recipe = recipes_[c.system];
    if (made != c.system) {
      system = problem_.system(recipe.errors).with(recipe.prior);
      made = c.system;
      weighed = false;
    }
    if (!c.wrong.empty() && !weighed) {  // only if needed: its cost grows as the square of the number of settings
      system->weigh_settings();
      weighed = true;
    }
    TiltAccount& account = accounts.add(fit_of(*system, c.wrong, c.by_rad), recipe.gauge_u_rad, c.log_weight);
    account.structure = structure_;
    account.wrong = observations_of(problem_.line(), c.wrong);
  }
  return accounts;
}

double Candidates::take(const GaugeSystem& system, const WrongSettings& wrong, double log_weight) {
  std::vector<double> weights;
  for (const WrongSpread& spread : wrong_spreads(wrong)) {
    weights.push_back(log_weight + problem_.log_prior(wrong.size()) + spread.log_share + log_evidence_of(system, wrong, spread.rad));
    all_.push_back({recipes_.size() - 1, wrong, spread.rad, weights.back()});
  }
  return log_sum(weights);
}

TiltAccount& WeighedAccounts::add(const GaugeFit& fit, double gauge_u_rad, double log_weight) {
  TiltAccount& account = accounts_.emplace_back();
  account.gauge_u_rad = gauge_u_rad;
  join(*signal_, fit, account);
  log_weight_.push_back(log_weight);
  return account;
}

void WeighedAccounts::append(WeighedAccounts&& others) {
  std::move(others.accounts_.begin(), others.accounts_.end(), std::back_inserter(accounts_));
  log_weight_.insert(log_weight_.end(), others.log_weight_.begin(), others.log_weight_.end());
}

void WeighedAccounts::shift(double log_weight) {
  for (double& w : log_weight_) w += log_weight;
}

std::vector<TiltAccount> WeighedAccounts::normalised() && {
  const double total = log_total();
  std::vector<TiltAccount> kept;
  double sum = 0;
  for (std::size_t i = 0; i < accounts_.size(); ++i) {
    accounts_[i].probability = std::exp(log_weight_[i] - total);
    if (accounts_[i].probability < kLeastProbability) continue;
    sum += accounts_[i].probability;
    kept.push_back(std::move(accounts_[i]));
  }
  if (kept.empty()) throw_no_numbers();
  for (TiltAccount& account : kept) account.probability /= sum;
  return kept;
}

}  // namespace evenwall::internal::solve
