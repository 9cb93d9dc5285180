// SPDX-License-Identifier: GPL-3.0-or-later
// Fits that accounts of the gauge may be made of, weighed by their evidence.
#pragma once

#include <vector>

#include "solve/gauge_problem.hpp"

namespace evenwall::internal::solve {

/// ln Σ exp; −∞ of none.
double log_sum(const std::vector<double>& logs);

/// Accounts with the logarithms of their weights: prior × evidence.
class WeighedAccounts {
 public:
  explicit WeighedAccounts(const SignalFit& signal) : signal_(&signal) {}

  /// Returns the account, until the next is added.
  TiltAccount& add(const GaugeFit& fit, double gauge_u_rad, double log_weight);
  void append(WeighedAccounts&& others);
  void shift(double log_weight);

  [[nodiscard]] std::vector<TiltAccount>& accounts() { return accounts_; }
  /// ln of the sum of all weights.
  [[nodiscard]] double log_total() const { return log_sum(log_weight_); }
  /// Probabilities out of weights; accounts below kLeastProbability fall away.
  [[nodiscard]] std::vector<TiltAccount> normalised() &&;

 private:
  const SignalFit* signal_;
  std::vector<TiltAccount> accounts_;
  std::vector<double> log_weight_;
};

/// Settings that are logged wrong in one account.
using WrongSettings = std::vector<Eigen::Index>;

/// The system's evidence and fit if these settings are off by `by_rad` more. Requires: the settings are weighed.
double log_evidence_of(const GaugeSystem& system, const WrongSettings& wrong, double by_rad);
GaugeFit fit_of(const GaugeSystem& system, const WrongSettings& wrong, double by_rad);

std::vector<std::size_t> observations_of(const GaugeLine& line, const WrongSettings& settings);

/// No setting, and each one by itself if one can be named.
std::vector<WrongSettings> nobody_and_singles(const GaugeProblem& problem);

/// Every two of the settings that are the likeliest to be wrong. `log_weight`: of each of `nobody_and_singles`.
std::vector<WrongSettings> likeliest_pairs(const GaugeProblem& problem, const std::vector<double>& log_weight);

/// Systems and what they are worth; accounts are made of those only that count.
class Candidates {
 public:
  explicit Candidates(const GaugeProblem& problem, GaugeStructure structure = GaugeStructure::kIndependent)
      : problem_(problem), structure_(structure) {}

  enum class Wrong { kNobody, kOne, kTwo };
  /// The system with each prior of the scale, and up to so many settings wrong.
  void add(const GaugeErrors& errors, double gauge_u_rad, double log_weight, Wrong wrong);
  [[nodiscard]] WeighedAccounts accounts() const;

 private:
  struct Candidate {
    std::size_t system;
    WrongSettings wrong;
    double log_weight;
  };
  double take(const GaugeSystem& system, WrongSettings wrong, double log_weight);

  const GaugeProblem& problem_;
  GaugeStructure structure_;
  /// What a system is made of again, for the few that count: thousands of them at once would fill the memory.
  struct Recipe {
    GaugeErrors errors;
    std::optional<ScalePrior> prior;
    double gauge_u_rad;
  };
  std::vector<Recipe> recipes_;
  std::vector<Candidate> all_;
};

}  // namespace evenwall::internal::solve
