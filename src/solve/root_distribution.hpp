// The distribution of the tilt at which a criterion is met, over all accounts of the session.
#pragma once

#include <optional>
#include <vector>

#include "solve/geometry.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall {

/// What of one account bears on where a criterion is met.
class CriterionAccount {
 public:
  using Slope = Eigen::Matrix<double, 1 + kShapeSize, 1>;

  /// with_least: the doubt in where least crosstalk lies counts too.
  CriterionAccount(CriterionKind kind, const TiltAccount& account, bool with_least);

  /// Probability that the root lies below (rising criterion). psi_rad: tilt from this account's least crosstalk.
  [[nodiscard]] double probability_below(double psi_rad) const;

  /// Welch–Satterthwaite: what is stated has no scatter of its own, so its share lends degrees of freedom to the sum (JCGM 100, G.4).
  /// 0: normal.
  [[nodiscard]] double effective_degrees_of_freedom(const Slope& slope) const;

 private:
  using Covariance = Eigen::Matrix<double, 1 + kShapeSize, 1 + kShapeSize>;

  CriterionKind kind_;
  ResponseShape shape_;
  Covariance covariance_, known_;  ///< of (ψ = tilt − φ0, shape)
  Eigen::Matrix<double, kShapeSize, kShapeSize> signal_;
  double degrees_of_freedom_;
  bool all_estimated_;
};

/// Fieller's set over a mixture of accounts, as a distribution function.
class RootDistribution {
 public:
  /// offset_only: of the distance from least crosstalk, as the signal alone has it.
  RootDistribution(CriterionKind kind, const TiltFit& fit, bool offset_only);

  /// Radians; none where the distribution does not reach `probability` within reach of least crosstalk. To rounding.
  [[nodiscard]] std::optional<double> quantile_rad(double probability) const;
  /// How many times the whole mixture has been looked at: what the time goes to.
  [[nodiscard]] int looks() const { return looks_; }

 private:
  struct Part {
    double probability, least_rad;
    CriterionAccount account;
  };
  [[nodiscard]] double rising(double below) const { return falling_ ? 1.0 - below : below; }
  [[nodiscard]] double at(double v_rad) const { return rising(raw(v_rad)); }
  [[nodiscard]] double raw(double v_rad) const;
  [[nodiscard]] double of_likeliest(double v_rad) const;
  [[nodiscard]] std::optional<double> by_likeliest(double probability) const;

  std::vector<Part> parts_;
  std::size_t likeliest_ = 0;
  double centre_rad_ = 0;
  double reach_rad_ = 0;
  bool falling_ = false;
  double at_low_ = 0, at_high_ = 0;
  mutable int looks_ = 0;
};

}  // namespace evenwall
