// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/magnitude_model.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

/// ln|x| of a term with its slopes by (ψ, shape), kept finite.
struct LnSize {
  double value;
  std::array<double, 1 + kShapeSize> slope{};
};

LnSize ln_size(const Response::Term& x) {
  const double square = std::norm(x.value) + kLeastLeak * kLeastLeak;
  LnSize ln{0.5 * std::log(square), {}};
  for (std::size_t k = 0; k < ln.slope.size(); ++k) ln.slope[k] = (std::conj(x.value) * x.slope[k]).real() / square;
  return ln;
}

double u_ln(const Eigen::Matrix2d& covariance, Complex value) { return std::sqrt(0.5 * covariance.trace()) / std::abs(value); }

/// The row of one magnitude: ln|ratio| = gain_sign·(ln gain) + ln|x|. The caller adds further terms, if there are any.
MagnitudeRow size_row(const Observation& o, double seen_ln, double u, const LnSize& x, double gain_sign, const Eigen::VectorXd& common) {
  MagnitudeRow row;
  row.residual = (seen_ln - (gain_sign * ln_gain_of(common, o.leads_swapped).real() + x.value)) / u;
  row.own_slope = x.slope[0] / u;
  for (std::size_t k = 0; k < kShapeSize; ++k) row.shared_slope[k] = x.slope[k + 1] / u;
  row.shared_slope[kLnGain] = gain_sign / u;
  if (o.leads_swapped) row.shared_slope[kLnPreamplifier] = -2 * gain_sign / u;
  return row;
}

MagnitudeRow setting_row(const MagnitudeProblem& problem, Eigen::Index i, const Eigen::VectorXd& unknowns) {
  const MagnitudeLayout at = problem.layout();
  const double logged_rad = radians(problem.observations[static_cast<std::size_t>(i)].logged);
  const double u = problem.setting_u_rad[i];
  MagnitudeRow row;
  row.residual = (unknowns[at.scale()] * logged_rad - unknowns[at.least()] - unknowns[i]) / u;
  row.own_slope = 1 / u;
  row.shared_slope[kCommonSize] = 1 / u;
  row.shared_slope[kCommonSize + 1] = -logged_rad / u;
  return row;
}

void add_priors(const MagnitudeProblem& problem, const Eigen::VectorXd& unknowns, std::vector<MagnitudeRow>& rows) {
  const auto prior = [&](int k, double centre, double u) {
    MagnitudeRow& row = rows.emplace_back();
    row.residual = (centre - unknowns[problem.layout().steps + k]) / u;
    row.shared_slope[static_cast<std::size_t>(k)] = 1 / u;
  };
  prior(kShear, 0, kShearSpread_rad);
  prior(kBend, 0, problem.bend_spread_rad);
  prior(kQuadratureLeft, 0, kQuadratureSpread);
  prior(kQuadratureRight, 0, kQuadratureSpread);
  prior(kGainPhase, 0, kUnreadPhase_rad);
  prior(kLnCutRatio, problem.gains.ln_cut_ratio, std::max(problem.gains.u_ln_cut_ratio, kLeastCut_neper));
  prior(kCutPhase, 0, kUnreadPhase_rad);
  prior(kLnPreamplifier, 0, kPreamplifierSpread_neper);
  prior(kPreamplifierPhase, 0, kUnreadPhase_rad);
  prior(kCommonSize + 1, problem.gauge.scale_centre,
        problem.gauge.in_degrees ? std::max(problem.gauge.u_scale, kLeastScale_u) : kFreeScale_u);
}

}  // namespace

void add_step(std::vector<MagnitudeRow>& rows, const Observation& o, double psi_rad, const Eigen::VectorXd& common) {
  const Response r = response_at(psi_rad, shape_of(common));
  rows.push_back(size_row(o, std::log(std::abs(o.right_into_left)), u_ln(o.right_into_left_covariance, o.right_into_left),
                          ln_size(quotient(r.left_from_right, r.right_from_right)), 1, common));
  rows.push_back(size_row(o, std::log(std::abs(o.left_into_right)), u_ln(o.left_into_right_covariance, o.left_into_right),
                          ln_size(quotient(r.right_from_left, r.left_from_left)), -1, common));
  if (!o.ln_level_ratio) return;
  MagnitudeRow& row = rows.emplace_back(
      size_row(o, *o.ln_level_ratio, o.u_ln_level_ratio, ln_size(quotient(r.left_from_left, r.right_from_right)), 1, common));
  row.residual -= common[kLnCutRatio] / o.u_ln_level_ratio;
  row.shared_slope[kLnCutRatio] = 1 / o.u_ln_level_ratio;
}

double MagnitudeEquations::chi2() const {
  double sum = 0;
  for (const MagnitudeRow& row : rows) sum += row.residual * row.residual;
  return sum;
}

numeric::ArrowFit MagnitudeEquations::fit(double damping) const {
  numeric::ArrowFit fit(static_cast<Eigen::Index>(ends.size()), kSharedSize);
  const std::array<double, kSharedSize> none{};
  std::array<double, kSharedSize> information{};
  std::size_t at = 0;
  const auto take = [&](bool of_step) {
    for (std::size_t k = 0; k < information.size(); ++k) information[k] += rows[at].shared_slope[k] * rows[at].shared_slope[k];
    if (of_step) {
      fit.add(rows[at].own_slope, rows[at].shared_slope.data(), rows[at].residual);
    } else {
      fit.add_common(rows[at].shared_slope.data(), rows[at].residual);
    }
  };
  for (const std::size_t end : ends) {
    double own = 0;
    for (; at < end; ++at) {
      own += rows[at].own_slope * rows[at].own_slope;
      take(true);
    }
    if (damping > 0) fit.add(std::sqrt(damping * own), none.data(), 0);
    fit.end_block();
  }
  for (; at < rows.size(); ++at) take(false);
  for (std::size_t k = 0; damping > 0 && k < information.size(); ++k) {
    std::array<double, kSharedSize> damped{};
    damped[k] = std::sqrt(damping * information[k]);
    fit.add_common(damped.data(), 0);
  }
  return fit;
}

MagnitudeEquations equations_at(const MagnitudeProblem& problem, const Eigen::VectorXd& unknowns) {
  const MagnitudeLayout at = problem.layout();
  const Eigen::VectorXd common = unknowns.segment(at.steps, kCommonSize);
  MagnitudeEquations equations;
  equations.rows.reserve(static_cast<std::size_t>(4 * at.steps + kSharedSize));
  for (Eigen::Index i = 0; i < at.steps; ++i) {
    add_step(equations.rows, problem.observations[static_cast<std::size_t>(i)], unknowns[i], common);
    equations.rows.push_back(setting_row(problem, i, unknowns));
    equations.ends.push_back(equations.rows.size());
  }
  add_priors(problem, unknowns, equations.rows);
  return equations;
}

MagnitudeRows rows_at(const MagnitudeProblem& problem, const Eigen::VectorXd& unknowns) {
  const MagnitudeLayout at = problem.layout();
  const MagnitudeEquations equations = equations_at(problem, unknowns);
  const auto count = static_cast<Eigen::Index>(equations.rows.size());
  MagnitudeRows written{Eigen::MatrixXd::Zero(count, at.size()), Eigen::VectorXd(count)};
  std::size_t step = 0;
  for (Eigen::Index row = 0; row < count; ++row) {
    const MagnitudeRow& from = equations.rows[static_cast<std::size_t>(row)];
    while (step < equations.ends.size() && static_cast<std::size_t>(row) >= equations.ends[step]) ++step;
    if (step < equations.ends.size()) written.slopes(row, static_cast<Eigen::Index>(step)) = from.own_slope;
    for (int k = 0; k < kSharedSize; ++k) written.slopes(row, at.steps + k) = from.shared_slope[static_cast<std::size_t>(k)];
    written.residuals[row] = from.residual;
  }
  return written;
}

double descend(const MagnitudeProblem& problem, Eigen::VectorXd& unknowns, int iterations) {
  const MagnitudeLayout at = problem.layout();
  double damping = 1e-3;
  MagnitudeEquations here = equations_at(problem, unknowns);
  double chi2 = here.chi2();
  for (int iteration = 0; iteration < iterations && damping < 1e12; ++iteration) {
    const numeric::ArrowFit::Coefficients step = here.fit(damping).coefficients();
    Eigen::VectorXd tried = unknowns;
    tried.head(at.steps) += step.own;
    tried.tail(kSharedSize) += step.common;
    MagnitudeEquations there = equations_at(problem, tried);
    const double chi2_there = there.chi2();
    if (!(chi2_there < chi2)) {
      damping *= 8;
      continue;
    }
    const bool done = chi2 - chi2_there < kSizesConverged * (1 + chi2);
    unknowns = tried;
    here = std::move(there);
    chi2 = chi2_there;
    damping = std::max(1e-12, damping / 8);
    if (done) break;
  }
  return chi2;
}

}  // namespace evenwall::internal::solve
