// SPDX-License-Identifier: GPL-3.0-or-later
// A session's gauge as the accounts see it: spreads, priors, and the fits they have in common.
#pragma once

#include <algorithm>
#include <vector>

#include "solve/gauge_model.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {

/// Requires: what it is made of outlives it; observations as given to fit_signal.
class GaugeProblem {
 public:
  GaugeProblem(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& priors);
  GaugeProblem(const GaugeProblem&) = delete;  // the fits hold on to the line
  GaugeProblem& operator=(const GaugeProblem&) = delete;

  const std::vector<Observation>& observations;
  const SignalFit& signal;
  const GaugePriors& priors;
  double rad_per_unit = radians(1.0);  ///< of the log, for a step's own uncertainty, which is in its unit

  [[nodiscard]] Eigen::Index size() const { return line_.size(); }
  [[nodiscard]] std::optional<ScalePrior> scale_prior() const;
  /// Spread of each setting; `general_rad` where the step states none.
  [[nodiscard]] Eigen::VectorXd spreads(double general_rad) const;
  [[nodiscard]] bool spread_of_log() const;
  [[nodiscard]] bool may_name_wrong() const { return size() >= (priors.in_degrees ? 3 : 4); }
  /// ln of the prior probability that one given step is logged wrong, or none.
  [[nodiscard]] double log_prior(bool wrong) const;
  [[nodiscard]] double mean_signal_variance() const { return mean_signal_variance_; }

  /// No prior of k yet.
  [[nodiscard]] GaugeSystem system(const Eigen::VectorXd& u_rad) const { return {line_, u_rad}; }
  [[nodiscard]] GaugeFit fit(const Eigen::VectorXd& u_rad, const std::optional<ScalePrior>& prior) const {
    return system(u_rad).with(prior).fit();
  }
  /// Spreads that a gauge may have, least first, and the fit for each, no prior of k.
  [[nodiscard]] static const std::vector<double>& grid();
  std::vector<GaugeSystem>& on_grid();

 private:
  GaugeLine line_;
  double mean_signal_variance_;
  std::vector<GaugeSystem> on_grid_;
};

/// Probabilities out of log weights.
void normalise(std::vector<TiltAccount>& accounts, const std::vector<double>& log_weight);

/// A gauge of known spread: nobody wrong, and each step in turn.
std::vector<TiltAccount> stated_accounts(const GaugeProblem& problem, double general_rad);

/// Four steps or more: the gauge's scatter by restricted maximum likelihood, Student's t on what is left.
std::vector<TiltAccount> scatter_accounts(GaugeProblem& problem);

/// Three steps: a mixture of normals over the grid, and beyond its end where the scatter is. `understated`: what steps state of their own
/// is too small.
std::vector<TiltAccount> grid_accounts(GaugeProblem& problem, bool understated);

}  // namespace evenwall::internal::solve
