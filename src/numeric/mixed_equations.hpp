// SPDX-License-Identifier: GPL-3.0-or-later
// Solves the mixed-model equations of two crossed random effects; the larger factor is eliminated level by level.
#pragma once

#include <cstddef>
#include <vector>

#include "numeric/matrix.hpp"

namespace evenwall::internal::numeric {

/// Observations with the level of each factor, 0 … levels − 1. A cell may hold any number of observations, also zero.
struct CrossedData {
  std::vector<double> y;
  std::vector<int> first, second;  ///< empty if there is no such factor
  int first_levels = 0;
  int second_levels = 0;
  std::vector<double> covariate;  ///< empty, or one for each observation: adds a slope to the mean
};

/// Variances of the two effects, divided by the residual variance.
struct VarianceRatios {
  double absorbed = 0;
  double kept = 0;
};

/// Everything that the likelihood and the predictions need at one pair of ratios; variances are in units of the residual variance.
/// Unknowns in order: mean, slope (if there is a covariate), the kept factor's effects.
struct EquationsAt {
  VarianceRatios ratios;
  double criterion = 0;          ///< −2 log restricted likelihood, residual variance profiled out, without lme4's constants
  double residual_variance = 0;  ///< profiled
  Eigen::VectorXd unknowns;      ///< solved
  Eigen::MatrixXd covariance;    ///< of solved minus true unknowns
  Eigen::Vector3d trace;         ///< tr(P V_k), k = absorbed, kept, residual
  Eigen::Vector2d quadratic;     ///< y'P V_k P y, k = absorbed, kept
  Eigen::Matrix3d information;   ///< tr(P V_k P V_l)
};

/// Holds sums over the levels of the larger factor, computed once. For a fixed number of kept levels, `at` then costs in proportion to the
/// number of cells.
/// Source: C. R. Henderson's mixed-model equations (from memory); docs/method.md, "Many cartridges".
class MixedEquations {
 public:
  explicit MixedEquations(const CrossedData& data);

  [[nodiscard]] EquationsAt at(const VarianceRatios& ratios) const;

  struct Entry {
    int column;
    double sum;
  };
  /// One level of the absorbed factor: sums of the design's columns and of y.
  struct Level {
    double count = 0;
    std::vector<Entry> entries;  ///< in ascending order of columns; the column of y is columns()
  };
  [[nodiscard]] const std::vector<Level>& levels() const { return levels_; }
  [[nodiscard]] const std::vector<int>& level_of() const { return level_of_; }
  [[nodiscard]] const std::vector<int>& kept_of() const { return kept_of_; }
  [[nodiscard]] int fixed() const { return fixed_; }
  [[nodiscard]] int columns() const { return fixed_ + kept_levels_; }
  [[nodiscard]] int kept_levels() const { return kept_levels_; }
  [[nodiscard]] std::size_t observations() const { return y_.size(); }
  [[nodiscard]] const std::vector<double>& y() const { return y_; }
  [[nodiscard]] const std::vector<double>& covariate() const { return covariate_; }

  bool absorbs_first = true;  ///< which factor is eliminated; the other is kept
  bool has_absorbed = true;   ///< false if there is no factor at all; one level then holds all observations
  bool has_kept = true;

 private:
  void take_levels(const CrossedData& data);
  void add_within();

  std::vector<double> y_, covariate_;
  std::vector<int> level_of_, kept_of_;
  int fixed_ = 1;
  int kept_levels_ = 0;
  std::vector<Level> levels_;
  Eigen::MatrixXd within_;  ///< cross products about the levels' own means, independent of the ratios
};

}  // namespace evenwall::internal::numeric
