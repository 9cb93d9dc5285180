// SPDX-License-Identifier: GPL-3.0-or-later
// The steps' tilts by the signal beside the log's, in the order in which they were captured.
#pragma once

#include <vector>

#include "numeric/matrix.hpp"
#include "solve/signal_fit.hpp"

namespace evenwall::internal::solve {

/// How the captures followed each other. A setting is a run of captures with one logged tilt, whose tilts by the signal agree to
/// kSameSetting_rad: the gauge was not touched in between.
struct CaptureOrder {
  /// By Observation::order, then by the session's steps. psi_rad: tilt of each observation by the signal. Requires: observations not empty.
  CaptureOrder(const std::vector<Observation>& observations, const Eigen::VectorXd& psi_rad);

  std::vector<Eigen::Index> observation;  ///< of each place in the order
  std::vector<Eigen::Index> place;        ///< of each observation
  std::vector<Eigen::Index> setting;      ///< of each place, ascending from 0
  Eigen::Index settings = 0;
  Eigen::VectorXd move;       ///< to each setting, over the usual one; the first counts as one
  Eigen::VectorXd direction;  ///< of each place: ±½ by the direction of the last move, 0 if it is not known, as of the first setting
  Eigen::VectorXd time;       ///< of each place: 0 to 1
  /// Whether both directions occur twice: otherwise a difference between them shows in nothing.
  [[nodiscard]] bool shows_direction() const;
  /// Whether time is no straight line in the logged tilts, `logged` in the order of capture.
  [[nodiscard]] bool shows_time(const Eigen::VectorXd& logged) const;
};

/// The steps' tilts by the signal beside the log's, whatever the gauge's errors. The tilts are a diagonal of variances and a few shared
/// causes (SharedCovariance): with the causes among the unknowns every step is a datum of its own.
class GaugeLine {
 public:
  /// Requires: observations as given to fit_signal.
  GaugeLine(const std::vector<Observation>& observations, const SignalFit& signal);
  [[nodiscard]] Eigen::Index size() const { return rest_.size(); }
  [[nodiscard]] const CaptureOrder& order() const { return order_; }
  /// The setting of an observation, and the observations of a setting.
  [[nodiscard]] Eigen::Index setting_of(std::size_t observation) const { return setting_of_[observation]; }
  [[nodiscard]] std::vector<std::size_t> observations_of(Eigen::Index setting) const;
  /// All settings in the order of their first observations: sums over them do not depend on the order of capture.
  [[nodiscard]] std::vector<Eigen::Index> settings_by_observation() const;
  [[nodiscard]] bool repeats() const { return order_.settings < size(); }

 private:
  friend class GaugeSystem;
  void straighten();
  /// What stands at each observation, in the order of capture.
  [[nodiscard]] Eigen::VectorXd in_order(const Eigen::VectorXd& each) const;

  CaptureOrder order_;
  std::vector<Eigen::Index> setting_of_;
  // In the order of capture:
  Eigen::MatrixXd design_;  ///< by φ0, k and each cause that any tilt shares
  Eigen::VectorXd rest_;    ///< tilts less the straight line below
  Eigen::Vector2d line_;    ///< φ0, k of unweighted least squares: only what is left of it is fitted
  Eigen::VectorXd own_;     ///< variance of each tilt beside the causes
  std::vector<Eigen::Index> shown_causes_;
  Eigen::Index causes_ = 0;
};

}  // namespace evenwall::internal::solve
