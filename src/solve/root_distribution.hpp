// SPDX-License-Identifier: GPL-3.0-or-later
// The distribution of the tilt at which a criterion is met, over all accounts of the session.
#pragma once

#include <optional>
#include <vector>

#include "solve/geometry.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// What a distribution is of: the true tilt at which a criterion is met, its distance from least crosstalk by the signal alone (in which
/// neither the gauge nor its scatter counts), or the number to set on the gauge of the log.
enum class RootOf { kTilt, kOffset, kSetting };

/// What of one account bears on where a criterion is met.
class CriterionAccount {
 public:
  using Slope = Eigen::Matrix<double, 1 + kShapeSize, 1>;

  /// u_zero_rad: of the gauge's zero, in the account. The number on that gauge is free of it.
  CriterionAccount(CriterionKind kind, const TiltAccount& account, RootOf of, double u_zero_rad);

  /// Probability that the root lies below (rising criterion). psi_rad: tilt from this account's least crosstalk.
  [[nodiscard]] double probability_below(double psi_rad) const;
  /// The criterion over its standard uncertainty there.
  [[nodiscard]] double deviate(double psi_rad) const;
  /// Whether the criterion falls with the tilt at least crosstalk.
  [[nodiscard]] bool falls() const;

  /// Welch–Satterthwaite: what is stated has no scatter of its own, so its share lends degrees of freedom to the sum (JCGM 100, G.4).
  /// 0: normal.
  [[nodiscard]] double effective_degrees_of_freedom(const Slope& slope, double psi_rad) const;

 private:
  using Covariance = Eigen::Matrix<double, 1 + kShapeSize, 1 + kShapeSize>;
  using Joint = Eigen::Matrix<double, 2 + kShapeSize, 2 + kShapeSize>;
  [[nodiscard]] double deviate(const CriterionAt& here, double psi_rad) const;
  /// Of (ψ, shape): the tilt is given, so ψ moves against φ0, and with k if it is the number on the gauge that is given.
  [[nodiscard]] Covariance of_psi(const Joint& joint, double psi_rad) const;

  CriterionKind kind_;
  RootOf of_;
  ResponseShape shape_;
  double least_rad_, scale_;
  Joint joint_, known_;  ///< of (φ0, k, shape)
  Eigen::Matrix<double, kShapeSize, kShapeSize> signal_;
  double degrees_of_freedom_;
  bool all_estimated_;
};

/// Fieller's set over a mixture of accounts, as a distribution function: of the root next to least crosstalk.
///
/// The exact response has further roots. Equal crosstalk of a cartridge with shear σ and bend w (geometry.hpp), without quadrature:
///
///     |x_rl|² − |x_lr|² ∝ sin 2ψ · cos(σ − w) · (cos 2ψ · sin(σ − w) + sin(σ + w))
///
/// has its second root at ψ² ≈ |σ/w| where that is small: 6° off for shear of a hundredth of the bend. Long before it the criterion's
/// uncertainty, in which that of w grows, pulls its deviate back to zero. The distribution therefore counts as far as the likeliest
/// account's deviate grows outward, and further as long as the mixture's own tail still thins.
class RootDistribution {
 public:
  RootDistribution(CriterionKind kind, const TiltFit& fit, RootOf of);

  /// Radians; none where the distribution does not reach `probability` within reach of least crosstalk. To rounding.
  [[nodiscard]] std::optional<double> quantile_rad(double probability) const;
  /// How many times the whole mixture has been looked at: what the time goes to.
  [[nodiscard]] int looks() const { return looks_; }

 private:
  struct Part {
    double probability, least_rad, scale;  ///< 1 unless the number on the gauge is asked for
    CriterionAccount account;
    [[nodiscard]] double psi_rad(double v_rad) const { return scale * v_rad - least_rad; }
  };
  [[nodiscard]] double rising(double below) const { return falling_ ? 1.0 - below : below; }
  [[nodiscard]] double at(double v_rad) const { return rising(raw(v_rad)); }
  [[nodiscard]] double raw(double v_rad) const;
  /// The end of the stretch that counts, in the direction −1 or 1, within reach.
  [[nodiscard]] double end_rad(double direction) const;
  [[nodiscard]] double of_likeliest(double v_rad) const;
  [[nodiscard]] std::optional<double> by_likeliest(double probability) const;

  std::vector<Part> parts_;
  std::size_t likeliest_ = 0;
  double centre_rad_ = 0;
  double reach_rad_ = 0;
  double low_rad_ = 0, high_rad_ = 0;  ///< the stretch that counts
  bool falling_ = false;
  double at_low_ = 0, at_high_ = 0;
  mutable int looks_ = 0;
};

}  // namespace evenwall::internal::solve
