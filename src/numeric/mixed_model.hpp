// SPDX-License-Identifier: GPL-3.0-or-later
// Estimates two crossed random effects by restricted maximum likelihood: y = mean + slope·covariate + a[first] + b[second] + e.
#pragma once

#include <vector>

#include "numeric/mixed_equations.hpp"

namespace evenwall::internal::numeric {

struct VarianceComponents {
  double first = 0;
  double second = 0;
  double residual = 0;
};

/// An estimate, its standard uncertainty and the degrees of freedom of Student's t for its interval.
struct MixedEstimate {
  double value = 0;
  double u = 0;
  double degrees_of_freedom = 0;
};

struct MixedEstimates {
  MixedEstimate mean;                           ///< at a covariate of 0
  MixedEstimate slope;                          ///< per unit of the covariate, if there is one
  std::vector<MixedEstimate> mean_plus_first;   ///< mean + a, one per level
  std::vector<MixedEstimate> second_contrasts;  ///< b − mean of all b, one per level
};

/// An observation compared with the value that all others predict for it.
struct LeftOutResidual {
  double expected = 0;
  double standardised = 0;  ///< Student's t with n − fixed effects − 1 degrees of freedom, at fixed variance ratios
};

class MixedModel {
 public:
  /// Requires: finite numbers, levels in range and each used, more observations than fixed effects.
  explicit MixedModel(CrossedData data);

  /// Whether the data can separate all requested variances.
  [[nodiscard]] bool separable() const;

  /// Estimates the variances; an estimate may be zero. Accuracy: 1e-8 relative, tests/published/mixed_model_test.cpp.
  void fit();
  [[nodiscard]] VarianceComponents variances() const;
  /// −2 log restricted likelihood with all constants, as lme4 counts it.
  [[nodiscard]] double criterion() const;

  /// Predictions; their uncertainty includes that of the variances. Requires: fit().
  /// Source: docs/method.md, "Many cartridges" (Satterthwaite; Kackar and Harville; Kenward and Roger).
  [[nodiscard]] MixedEstimates estimates() const;
  [[nodiscard]] std::vector<LeftOutResidual> left_out_residuals() const;

 private:
  [[nodiscard]] std::vector<MixedEstimate> adjusted_targets() const;
  [[nodiscard]] LeftOutResidual left_out_residual(std::size_t k) const;

  double scale_ = 1;  ///< the equations hold (y − centre_)/scale_
  double centre_ = 0;
  MixedEquations equations_;
  EquationsAt fitted_;
};

}  // namespace evenwall::internal::numeric
