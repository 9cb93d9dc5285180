// SPDX-License-Identifier: GPL-3.0-or-later
// Fits the signal by the slow, direct method: one dense matrix holds every unknown of every step, and slopes are differences.
#pragma once

#include <cmath>
#include <functional>
#include <numbers>

#include "solve/signal_fit.hpp"
#include "support/least_squares.hpp"

namespace dense {

/// All residuals divided by their standard uncertainties, as docs/method.md defines them. unknowns: ψ of each step, then the common ones.
inline Eigen::VectorXd signal_residuals(const std::vector<evenwall::internal::solve::Observation>& observations,
                                        const evenwall::internal::solve::GainPriors& priors, double bend_spread_rad,
                                        const Eigen::VectorXd& unknowns) {
  using namespace evenwall;
  using namespace evenwall::internal::solve;
  const auto n = static_cast<Eigen::Index>(observations.size());
  const Eigen::VectorXd common = unknowns.tail(kCommonSize);
  std::vector<double> all;
  const auto add_ratio = [&](Complex off, const Eigen::Matrix2d& covariance, double nu) {
    const double enlarged = 1 + 4 / nu * (1 - 1 / static_cast<double>(n));
    const Eigen::Matrix2d lower = Eigen::Matrix2d(covariance * enlarged).llt().matrixL();
    const Eigen::Vector2d white = lower.inverse() * Eigen::Vector2d(off.real(), off.imag());
    all.insert(all.end(), {white[0], white[1]});
  };
  for (Eigen::Index i = 0; i < n; ++i) {
    const Observation& o = observations[static_cast<std::size_t>(i)];
    const Response r = response_at(unknowns[i], {common[kShear], common[kBend], common[kQuadratureLeft], common[kQuadratureRight]});
    const Complex ll = r.left_from_left.value, lr = r.left_from_right.value, rl = r.right_from_left.value, rr = r.right_from_right.value;
    const Complex gain = std::exp(ln_gain_of(common, o.leads_swapped));
    add_ratio(o.right_into_left - gain * lr / rr, o.right_into_left_covariance, o.right_degrees_of_freedom);
    add_ratio(o.left_into_right - rl / ll / gain, o.left_into_right_covariance, o.left_degrees_of_freedom);
    if (o.ln_level_ratio) {
      all.push_back((*o.ln_level_ratio - std::log(std::abs(gain * ll / rr)) - common[kLnCutRatio]) / o.u_ln_level_ratio);
    }
    if (o.interchannel_phase_rad) {
      const double sign = o.vertical ? -1 : 1;
      const double model = ln_gain_of(common, o.leads_swapped).imag() + common[kCutPhase] + std::arg((ll + sign * lr) / (rr + sign * rl));
      all.push_back(std::remainder(*o.interchannel_phase_rad - model, 2 * std::numbers::pi) / radians(0.05));
    }
  }
  all.push_back(-common[kBend] / bend_spread_rad);
  all.push_back((priors.phase_centre_rad - common[kGainPhase]) / radians(20));
  all.push_back((priors.ln_cut_ratio - common[kLnCutRatio]) / priors.u_ln_cut_ratio);
  all.push_back(-common[kCutPhase] / radians(0.2));
  all.push_back(-common[kLnPreamplifier] / 0.5);
  all.push_back(-common[kPreamplifierPhase] / radians(20));
  return Eigen::Map<Eigen::VectorXd>(all.data(), static_cast<Eigen::Index>(all.size()));
}

/// Gauss–Newton iteration from the values in `unknowns`. Slopes are accurate to 1e-9: the result is as accurate as the residuals, the
/// covariance as accurate as the slopes.
inline dense::LeastSquaresFit descend_signal(const std::vector<evenwall::internal::solve::Observation>& observations,
                                             const evenwall::internal::solve::GainPriors& priors, double bend_spread_rad,
                                             Eigen::VectorXd& unknowns) {
  const auto residuals = [&](const Eigen::VectorXd& at) { return signal_residuals(observations, priors, bend_spread_rad, at); };
  dense::LeastSquaresFit step;
  for (int round = 0; round < 6; ++round) {
    const Eigen::VectorXd here = residuals(unknowns);
    Eigen::MatrixXd slopes(here.size(), unknowns.size());
    for (Eigen::Index k = 0; k < unknowns.size(); ++k) {
      constexpr double kBy = 1e-5;
      Eigen::VectorXd up = unknowns, down = unknowns;
      up[k] += kBy, down[k] -= kBy;
      slopes.col(k) = (residuals(down) - residuals(up)) / (2 * kBy);
    }
    step = dense::least_squares(slopes, here);
    unknowns += step.coefficients;
  }
  return step;
}

}  // namespace dense
