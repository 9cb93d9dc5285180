// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the steps' tilts by the signal and by the log, in the order in which they were captured.
#pragma once

#include <vector>

#include "numeric/matrix.hpp"
#include "solve/signal_fit.hpp"

namespace evenwall::internal::solve {

/// The order in which the captures were made. A setting is a run of captures that have one logged tilt and tilts by the signal that agree
/// to kSameSetting_rad: the gauge was not touched in between.
struct CaptureOrder {
  /// Sorts by Observation::order, then by the session's steps. psi_rad: tilt of each observation by the signal. Requires: observations not
  /// empty.
  CaptureOrder(const std::vector<Observation>& observations, const Eigen::VectorXd& psi_rad);

  std::vector<Eigen::Index> observation;  ///< index of the observation at each place in the order
  std::vector<Eigen::Index> place;        ///< place of each observation
  std::vector<Eigen::Index> setting;      ///< setting at each place, ascending from 0
  Eigen::Index settings = 0;
  Eigen::VectorXd move;  ///< magnitude of the move to each setting, relative to the median one; the first counts as one
  /// At each place: ±½ by `approach`, otherwise by the direction of the last move; 0 if it is not known, as for the first setting.
  Eigen::VectorXd direction;
  Eigen::VectorXd time;  ///< at each place, from 0 to 1
  /// Whether both directions occur at least twice; otherwise a difference between them cannot be seen.
  [[nodiscard]] bool shows_direction() const;
  /// Whether time departs from a straight line in the logged tilts, so that a drift can be seen. `logged`: in the order of capture.
  [[nodiscard]] bool shows_time(const Eigen::VectorXd& logged) const;
};

/// The steps' tilts by the signal and by the log, as they are before any errors of the gauge are assumed. The covariance of the tilts is a
/// diagonal plus a few shared causes (SharedCovariance). With the causes among the unknowns, the steps are independent data.
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
  /// Values given in the order of the observations, returned in the order of capture.
  [[nodiscard]] Eigen::VectorXd in_order(const Eigen::VectorXd& each) const;

  CaptureOrder order_;
  std::vector<Eigen::Index> setting_of_;
  // In the order of capture:
  Eigen::MatrixXd design_;  ///< columns: φ0, k and each cause that affects any tilt
  Eigen::VectorXd rest_;    ///< tilts less the straight line below
  Eigen::Vector2d line_;    ///< φ0, k by unweighted least squares; only the residuals from this line are fitted
  Eigen::VectorXd own_;     ///< variance of each tilt without that of the causes
  std::vector<Eigen::Index> shown_causes_;
  Eigen::Index causes_ = 0;
};

}  // namespace evenwall::internal::solve
