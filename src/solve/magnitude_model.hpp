// A session's sizes of leaks and levels as equations in all its unknowns, and the way down to their best values.
#pragma once

#include <utility>
#include <vector>

#include "numeric/matrix.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall {

/// Unknowns: ψ of each step, the common ones, φ0, k.
struct MagnitudeLayout {
  Eigen::Index steps;
  [[nodiscard]] Eigen::Index common(int k) const { return steps + k; }
  [[nodiscard]] Eigen::Index least() const { return steps + kCommonSize; }
  [[nodiscard]] Eigen::Index scale() const { return steps + kCommonSize + 1; }
  [[nodiscard]] Eigen::Index size() const { return steps + kCommonSize + 2; }
};

/// Whitened residuals and the model's slopes by the unknowns.
struct MagnitudeRows {
  Eigen::MatrixXd slopes;
  Eigen::VectorXd residuals;
  Eigen::Index used = 0;

  void add(double residual, double u, const std::vector<std::pair<Eigen::Index, double>>& by) {
    residuals[used] = residual / u;
    for (const auto& [unknown, slope] : by) slopes(used, unknown) += slope / u;
    ++used;
  }
};

struct MagnitudeProblem {
  const std::vector<Observation>& observations;
  GainPriors gains;
  GaugePriors gauge;
  Eigen::VectorXd setting_u_rad;
  double bend_spread_rad;
  [[nodiscard]] MagnitudeLayout layout() const { return {static_cast<Eigen::Index>(observations.size())}; }
};

/// The rows of one step, its setting left out.
void add_step(MagnitudeRows& rows, const MagnitudeLayout& at, Eigen::Index i, const Observation& o, double psi_rad,
              const Eigen::VectorXd& common);

/// All rows: sizes, levels, settings, priors.
MagnitudeRows rows_at(const MagnitudeProblem& problem, const Eigen::VectorXd& unknowns);

inline constexpr int kDescendToTheEnd = 200;  // iterations; a dozen tell which start is worth it

/// Levenberg–Marquardt from where `unknowns` stand. Returns χ².
double descend(const MagnitudeProblem& problem, Eigen::VectorXd& unknowns, int iterations = kDescendToTheEnd);

}  // namespace evenwall
