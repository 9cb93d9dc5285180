// SPDX-License-Identifier: GPL-3.0-or-later
// Collects candidate fits of the gauge, weighs them by their evidence, and makes accounts of them.
#pragma once

#include <vector>

#include "solve/gauge_problem.hpp"

namespace evenwall::internal::solve {

/// ln Σ exp; −∞ if there are no terms.
double log_sum(const std::vector<double>& logs);

/// Accounts with the logarithms of their weights: prior × evidence.
class WeighedAccounts {
 public:
  explicit WeighedAccounts(const SignalFit& signal) : signal_(&signal) {}

  /// Returns the account; the reference is valid until the next one is added.
  TiltAccount& add(const GaugeFit& fit, double gauge_u_rad, double log_weight);
  void append(WeighedAccounts&& others);
  void shift(double log_weight);

  [[nodiscard]] std::vector<TiltAccount>& accounts() { return accounts_; }
  /// ln of the sum of all weights.
  [[nodiscard]] double log_total() const { return log_sum(log_weight_); }
  /// Turns the weights into probabilities, and drops accounts below kLeastProbability. Throws: Error(kData) if no account is left.
  [[nodiscard]] std::vector<TiltAccount> normalised() &&;

 private:
  const SignalFit* signal_;
  std::vector<TiltAccount> accounts_;
  std::vector<double> log_weight_;
};

/// Settings that are logged wrong in one account.
using WrongSettings = std::vector<Eigen::Index>;

/// The system's log evidence and fit if these settings have a further standard deviation `by_rad`. Requires: weigh_settings was called,
/// unless `wrong` is empty.
double log_evidence_of(const GaugeSystem& system, const WrongSettings& wrong, double by_rad);
GaugeFit fit_of(const GaugeSystem& system, const WrongSettings& wrong, double by_rad);

/// A standard deviation that wrong settings may have, and the logarithm of its prior weight beside kProbabilityWrong.
struct WrongSpread {
  double rad, log_share;
};
/// A usual and a gross one; for no wrong setting, none in addition.
std::vector<WrongSpread> wrong_spreads(const WrongSettings& wrong);
/// The log evidence over these spreads. Requires: as log_evidence_of.
double log_evidence_of_wrong(const GaugeSystem& system, const WrongSettings& wrong);

std::vector<std::size_t> observations_of(const GaugeLine& line, const WrongSettings& settings);

/// The case that no setting is wrong and, if a wrong one can be named, the case of each single wrong setting.
std::vector<WrongSettings> nobody_and_singles(const GaugeProblem& problem);

/// All pairs of the settings that are likeliest to be wrong. `log_weight`: one for each element of `nobody_and_singles`.
std::vector<WrongSettings> likeliest_pairs(const GaugeProblem& problem, const std::vector<double>& log_weight);

/// Collects systems with their weights, and makes accounts only of those with enough weight (kLeastAccount).
class Candidates {
 public:
  explicit Candidates(const GaugeProblem& problem, GaugeStructure structure = GaugeStructure::kIndependent)
      : problem_(problem), structure_(structure) {}

  enum class Wrong { kNobody, kOne, kTwo };
  /// Adds the system with each prior of the scale, and with up to the given number of wrong settings.
  void add(const GaugeErrors& errors, double gauge_u_rad, double log_weight, Wrong wrong);
  [[nodiscard]] WeighedAccounts accounts() const;
  /// That of `accounts`, without making them.
  [[nodiscard]] double log_total() const;

 private:
  struct Candidate {
    std::size_t system;
    WrongSettings wrong;
    double by_rad;  ///< spread of the wrong settings
    double log_weight;
  };
  /// The logarithm of the weight that a candidate must exceed to become an account.
  [[nodiscard]] double least_log_weight() const;
  /// Adds a candidate for each spread of a wrong entry. Returns the logarithm of their total weight.
  double take(const GaugeSystem& system, const WrongSettings& wrong, double log_weight);

  const GaugeProblem& problem_;
  GaugeStructure structure_;
  /// Data from which a system is built again if it has enough weight: thousands of systems at once would fill the memory.
  struct Recipe {
    GaugeErrors errors;
    std::optional<ScalePrior> prior;
    double gauge_u_rad;
  };
  std::vector<Recipe> recipes_;
  std::vector<Candidate> all_;
};

}  // namespace evenwall::internal::solve
