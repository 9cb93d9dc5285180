// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the data of a session's gauge for the accounts: errors, priors, and the fits that several accounts use.
#pragma once

#include <algorithm>
#include <vector>

#include "solve/gauge_model.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {

/// Requires: the constructor's arguments outlive it; observations as given to fit_signal.
class GaugeProblem {
 public:
  GaugeProblem(const std::vector<Observation>& observations, const SignalFit& signal, const GaugePriors& priors);
  GaugeProblem(const GaugeProblem&) = delete;  // the fits keep a pointer to the line
  GaugeProblem& operator=(const GaugeProblem&) = delete;

  const std::vector<Observation>& observations;
  const SignalFit& signal;
  const GaugePriors& priors;
  double rad_per_unit = radians(1.0);  ///< per unit of the log; converts a step's own uncertainty, which is in that unit

  [[nodiscard]] Eigen::Index size() const { return line_.size(); }
  [[nodiscard]] Eigen::Index settings() const { return line_.order().settings; }
  [[nodiscard]] const GaugeLine& line() const { return line_; }
  /// The usual prior of the scale, in the supposed case of the signal's scale; nothing for a log in user units.
  [[nodiscard]] std::optional<ScalePrior> scale_prior() const;
  /// Changes the case of the signal's scale that `scale_prior` supposes: at first, as geometry predicts.
  void suppose(std::size_t signal_case) { supposed_case_ = signal_case; }
  /// All possible priors of the gauge's scale, with the logarithms of their weights. A gauge that turns about an axis at an angle to the
  /// groove moves the cartridge by less than it shows.
  struct WeighedScale {
    std::optional<ScalePrior> prior;
    double log_weight;
  };
  [[nodiscard]] std::vector<WeighedScale> gauge_scale_priors() const;
  /// The same with the cases of the signal's scale. Only beside a usual gauge is a case other than the first considered.
  [[nodiscard]] std::vector<WeighedScale> scale_priors() const;

  /// Spread of the setting of each step: its own if the step states one, otherwise `general_rad`.
  [[nodiscard]] Eigen::VectorXd spreads(double general_rad) const;
  [[nodiscard]] GaugeErrors errors(double general_rad, double lowering_rad = 0) const;
  [[nodiscard]] bool spread_of_log() const;
  [[nodiscard]] bool may_name_wrong() const { return settings() >= (priors.in_degrees ? 3 : 4); }
  /// ln of the prior probability that this number of given settings, and no other setting, is logged wrong.
  [[nodiscard]] double log_prior(std::size_t wrong) const;
  [[nodiscard]] double mean_signal_variance() const { return mean_signal_variance_; }
  /// ln of the prior weight of a gauge with this scatter; over the grid the weights add up to 1.
  [[nodiscard]] double log_gauge_prior(double u_rad) const;

  /// The system has no prior of k yet.
  [[nodiscard]] GaugeSystem system(const GaugeErrors& errors) const { return {line_, errors}; }
  /// Fit with independent settings and with the likeliest repeatability of lowering the stylus.
  [[nodiscard]] GaugeFit fit(const Eigen::VectorXd& u_rad, const std::optional<ScalePrior>& prior) {
    return system({u_rad, Eigen::VectorXd::Constant(size(), likely_lowering_rad())}).with(prior).fit();
  }

  /// The spreads that are tried for a gauge, in ascending order.
  [[nodiscard]] static const std::vector<double>& grid();
  /// The spreads that are tried for lowering the stylus, with the logarithms of their weights; only 0 if no setting repeats.
  struct Lowering {
    double rad, log_weight;
  };
  [[nodiscard]] const std::vector<Lowering>& lowerings() const { return lowerings_; }
  /// The system for each spread of the settings and of the lowering, without a prior of k.
  struct OnGrid {
    double setting_rad, lowering_rad;
    double log_weight;
    GaugeSystem system;
  };
  std::vector<OnGrid>& on_grid();
  /// The grid point at which the spreads of the settings and of the lowering are jointly likeliest.
  const OnGrid& likeliest_on_grid();
  /// The likeliest spread of lowering the stylus, or the one that an earlier fit found; 0 if no setting repeats.
  double likely_lowering_rad();

 private:
  GaugeLine line_;
  double mean_signal_variance_;
  /// The prior with a case of the signal's scale.
  [[nodiscard]] ScalePrior in_case(const ScalePrior& gauge, std::size_t signal_case) const;
  std::size_t supposed_case_ = 0;
  double log_grid_weights_ = 0;  ///< ln of the sum of the grid's weights before they are normalised
  std::vector<Lowering> lowerings_;
  std::vector<OnGrid> on_grid_;
};

}  // namespace evenwall::internal::solve
