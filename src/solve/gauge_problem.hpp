// SPDX-License-Identifier: GPL-3.0-or-later
// A session's gauge as the accounts see it: errors, priors, and the fits they have in common.
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
  [[nodiscard]] Eigen::Index settings() const { return line_.order().settings; }
  [[nodiscard]] const GaugeLine& line() const { return line_; }
  /// The usual one; none for a log in user units.
  [[nodiscard]] std::optional<ScalePrior> scale_prior() const;
  /// All that are possible, with the logarithm of their weights: a gauge that turns about an axis at an angle to the groove moves the
  /// cartridge by less than it shows.
  struct WeighedScale {
    std::optional<ScalePrior> prior;
    double log_weight;
  };
  [[nodiscard]] std::vector<WeighedScale> scale_priors() const;

  /// Spread of each setting; `general_rad` if the step states none.
  [[nodiscard]] Eigen::VectorXd spreads(double general_rad) const;
  [[nodiscard]] GaugeErrors errors(double general_rad, double lowering_rad = 0) const;
  [[nodiscard]] bool spread_of_log() const;
  [[nodiscard]] bool may_name_wrong() const { return settings() >= (priors.in_degrees ? 3 : 4); }
  /// ln of the prior probability that so many given steps are logged wrong, and no other.
  [[nodiscard]] double log_prior(std::size_t wrong) const;
  [[nodiscard]] double mean_signal_variance() const { return mean_signal_variance_; }
  /// ln of the weight of a gauge of this scatter before anything is seen; over the grid the weights add up to 1.
  [[nodiscard]] double log_gauge_prior(double u_rad) const;

  /// No prior of k yet.
  [[nodiscard]] GaugeSystem system(const GaugeErrors& errors) const { return {line_, errors}; }
  /// Independent settings; captures come back as well as the evidence has it.
  [[nodiscard]] GaugeFit fit(const Eigen::VectorXd& u_rad, const std::optional<ScalePrior>& prior) {
    return system({u_rad, Eigen::VectorXd::Constant(size(), likely_lowering_rad())}).with(prior).fit();
  }

  /// Spreads that a gauge may have, least first.
  [[nodiscard]] static const std::vector<double>& grid();
  /// Spreads that a capture may have beside its setting, with the logarithms of their weights: 0 alone if no setting repeats.
  struct Lowering {
    double rad, log_weight;
  };
  [[nodiscard]] const std::vector<Lowering>& lowerings() const { return lowerings_; }
  /// The fit for each spread and lowering, no prior of k.
  struct OnGrid {
    double setting_rad, lowering_rad;
    double log_weight;
    GaugeSystem system;
  };
  std::vector<OnGrid>& on_grid();
  /// The likeliest spread of the settings together with the likeliest lowering.
  const OnGrid& likeliest_on_grid();
  /// Of the captures beside their settings, whatever the settings' spread; 0 if no setting repeats.
  double likely_lowering_rad();

 private:
  GaugeLine line_;
  double mean_signal_variance_;
  double log_grid_weights_ = 0;  ///< of all of the grid, before they are made to add up to 1
  std::vector<Lowering> lowerings_;
  std::vector<OnGrid> on_grid_;
};

}  // namespace evenwall::internal::solve
