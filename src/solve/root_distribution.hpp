// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the distribution of the tilt at which a criterion is met, over all accounts of the session.
#pragma once

#include <optional>
#include <vector>

#include "solve/geometry.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// The quantity of a distribution: the true tilt at which a criterion is met, its distance from least crosstalk by the signal alone (in
/// which neither the gauge nor its scatter counts), or the number to set on the gauge of the log.
enum class RootOf { kTilt, kOffset, kSetting };

/// The part of one account that determines the tilt at which a criterion is met.
class CriterionAccount {
 public:
  using Slope = Eigen::Matrix<double, 1 + kShapeSize, 1>;

  /// u_zero_rad: standard uncertainty of the gauge's zero, which the account includes. The number on that gauge is free of it.
  CriterionAccount(CriterionKind kind, const TiltAccount& account, RootOf of, double u_zero_rad);

  /// Probability that the root lies below psi_rad, for a rising criterion. psi_rad: tilt from this account's least crosstalk.
  [[nodiscard]] double probability_below(double psi_rad) const;
  /// The criterion at psi_rad over its standard uncertainty there.
  [[nodiscard]] double deviate(double psi_rad) const;
  /// Whether the criterion falls with the tilt at least crosstalk.
  [[nodiscard]] bool falls() const;

  /// Welch–Satterthwaite (JCGM 100:2008, G.4, from memory): stated terms have no scatter of their own, so their share raises the
  /// degrees of freedom of the sum. 0: normal.
  [[nodiscard]] double effective_degrees_of_freedom(const Slope& slope, double psi_rad) const;

 private:
  using Covariance = Eigen::Matrix<double, 1 + kShapeSize, 1 + kShapeSize>;
  using Joint = Eigen::Matrix<double, 2 + kShapeSize, 2 + kShapeSize>;
  [[nodiscard]] double deviate(const CriterionAt& here, double psi_rad) const;
  /// Covariance of (ψ, shape). The tilt is given, so ψ moves against φ0. If the number on the gauge is given, ψ also moves with k.
  [[nodiscard]] Covariance of_psi(const Joint& joint, double psi_rad) const;

  CriterionKind kind_;
  RootOf of_;
  ResponseShape shape_;
  double least_rad_, scale_, signal_scale_;
  Joint joint_, known_;  ///< covariances of (φ0, k, shape)
  Eigen::Matrix<double, kShapeSize, kShapeSize> signal_;
  double degrees_of_freedom_;
  bool all_estimated_;
};

/// The distribution function of the root next to least crosstalk: Fieller's set over a mixture of accounts.
///
/// The exact response has further roots. Equal crosstalk of a cartridge with shear σ and bend w (geometry.hpp), without quadrature:
///
///     |x_rl|² − |x_lr|² ∝ sin 2ψ · cos(σ − w) · (cos 2ψ · sin(σ − w) + sin(σ + w))
///
/// has its second root at ψ² ≈ −σ/w if that is small and positive: 6° away for a shear of a hundredth of the bend. Long before that root,
/// the uncertainty of w makes the criterion's uncertainty grow and its deviate return to zero. The distribution therefore counts as far as
/// the likeliest account's deviate grows outward, and further as long as the mixture's own tail becomes thinner.
class RootDistribution {
 public:
  RootDistribution(CriterionKind kind, const TiltFit& fit, RootOf of);

  /// Radians, to rounding. Empty if the distribution does not reach `probability` within reach of least crosstalk.
  [[nodiscard]] std::optional<double> quantile_rad(double probability) const;
  /// Number of evaluations of the whole mixture, which take most of the time.
  [[nodiscard]] int looks() const { return looks_; }

 private:
  struct Part {
    double probability, least_rad, scale, signal_scale;  ///< scale: 1 unless RootOf::kSetting
    CriterionAccount account;
    [[nodiscard]] double psi_rad(double v_rad) const { return signal_scale * (scale * v_rad - least_rad); }
  };
  [[nodiscard]] double rising(double below) const { return falling_ ? 1.0 - below : below; }
  [[nodiscard]] double at(double v_rad) const { return rising(raw(v_rad)); }
  [[nodiscard]] double raw(double v_rad) const;
  /// The end of the range of tilts that counts, in the direction −1 or 1, within reach.
  [[nodiscard]] double end_rad(double direction) const;
  [[nodiscard]] double of_likeliest(double v_rad) const;
  [[nodiscard]] std::optional<double> by_likeliest(double probability) const;

  std::vector<Part> parts_;
  std::size_t likeliest_ = 0;
  double centre_rad_ = 0;
  double reach_rad_ = 0;
  double low_rad_ = 0, high_rad_ = 0;  ///< the range of tilts that counts
  bool falling_ = false;
  double at_low_ = 0, at_high_ = 0;
  mutable int looks_ = 0;
};

}  // namespace evenwall::internal::solve
