// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/mixed_model.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <numeric>

#include "numeric/linear_algebra.hpp"
#include "numeric/mixed_targets.hpp"

namespace evenwall::internal::numeric {
namespace {

constexpr int kMostSteps = 200;
constexpr double kMostRatio = 1e8;    // beyond it the residual is only rounding
constexpr double kConverged = 1e-12;  // relative change of a ratio
constexpr double kNoise = 1e-13;      // relative, of the criterion: a step that raises it by no more is accepted
constexpr double kSeparable = 1e-8;   // least eigenvalue of the information, scaled to correlations; rounding gives 1e-13
constexpr double kDifference = 1e-3;  // step of numerical derivatives, in standard deviations of a variance
constexpr double kMostDegrees = 1e9;
constexpr double kWide = 1e6;
constexpr std::ptrdiff_t kFewLevels = 3;
constexpr double kNoLeverageLeft = 1e-12;

using Ratios = Eigen::Vector2d;

VarianceRatios ratios_of(const Ratios& r) { return {r[0], r[1]}; }

/// Expected second derivatives of the profiled criterion.
Eigen::Matrix2d curvature(const EquationsAt& e, double degrees) {
  Eigen::Matrix2d h = e.information.topLeftCorner<2, 2>();
  for (Eigen::Index i = 0; i < 2; ++i) {
    for (Eigen::Index k = 0; k < 2; ++k) h(i, k) -= e.trace[i] * e.trace[k] / degrees;
  }
  return h;
}

/// Fisher's scoring step. A ratio at zero that would fall further stays at zero.
Ratios scoring_step(const EquationsAt& e, double degrees, const std::array<bool, 2>& wanted) {
  const Ratios at{e.ratios.absorbed, e.ratios.kept};
  const Ratios gradient = e.trace.head<2>() - e.quadratic / e.residual_variance;
  Eigen::Matrix2d h = curvature(e, degrees);
  Ratios right = -gradient;
  for (Eigen::Index k = 0; k < 2; ++k) {
    if (wanted[static_cast<std::size_t>(k)] && (at[k] > 0 || gradient[k] < 0)) continue;
    h.row(k).setZero();
    h.col(k).setZero();
    h(k, k) = 1;
    right[k] = 0;
  }
  const double determinant = h(0, 0) * h(1, 1) - h(0, 1) * h(1, 0);
  if (!(determinant > 0)) return right.cwiseQuotient(h.diagonal().cwiseMax(1e-300));
  return Ratios(h(1, 1) * right[0] - h(0, 1) * right[1], h(0, 0) * right[1] - h(1, 0) * right[0]) / determinant;
}

EquationsAt scored(const MixedEquations& equations, Ratios at) {
  const double degrees = static_cast<double>(equations.observations()) - equations.fixed();
  const std::array<bool, 2> wanted{equations.has_absorbed, equations.has_kept};
  for (Eigen::Index k = 0; k < 2; ++k) at[k] = wanted[static_cast<std::size_t>(k)] ? at[k] : 0.0;
  EquationsAt e = equations.at(ratios_of(at));
  for (int n = 0; n < kMostSteps; ++n) {
    const Ratios step = scoring_step(e, degrees, wanted);
    const double allowed = e.criterion + kNoise * std::max(1.0, std::abs(e.criterion));
    double share = 1;
    Ratios next = at;
    EquationsAt then;
    for (; share > 1e-6; share /= 2) {
      next = (at + share * step).cwiseMax(0.0);
      next *= std::min(1.0, kMostRatio / std::max(next.maxCoeff(), kMostRatio));  // scales both, to keep their proportion
      then = equations.at(ratios_of(next));
      if (then.criterion <= allowed) break;
    }
    const bool there = ((next - at).array().abs() <= kConverged * at.array().abs()).all();
    if (!(then.criterion <= allowed)) break;
    at = next;
    e = std::move(then);
    if (there) break;
  }
  return e;
}

/// absorbed, kept, residual
using Variances = Eigen::Vector3d;

Targets targets_at(const MixedEquations& equations, const Variances& v) {
  const EquationsAt e = equations.at({v[0] / v[2], v[1] / v[2]});
  return targets_of(equations, e, v[2]);
}

std::vector<Eigen::Index> components(const MixedEquations& equations) {
  std::vector<Eigen::Index> list;
  if (equations.has_absorbed) list.push_back(0);
  if (equations.has_kept) list.push_back(1);
  list.push_back(2);
  return list;
}

Eigen::MatrixXd chosen(const Eigen::Matrix3d& all, const std::vector<Eigen::Index>& list) {
  const auto size = static_cast<Eigen::Index>(list.size());
  Eigen::MatrixXd some(size, size);
  for (Eigen::Index i = 0; i < size; ++i) {
    for (Eigen::Index k = 0; k < size; ++k) some(i, k) = all(list[static_cast<std::size_t>(i)], list[static_cast<std::size_t>(k)]);
  }
  return some;
}

/// Derivatives by each variance of `list`, one column per variance in the order of `list`.
struct Derivatives {
  Eigen::MatrixXd value, variance;
};

Derivatives derivatives(const MixedEquations& equations, const Variances& at, const std::vector<Eigen::Index>& list,
                        const Eigen::VectorXd& deviation) {
  Derivatives by;
  for (std::size_t k = 0; k < list.size(); ++k) {
    const auto c = static_cast<Eigen::Index>(k);
    const double step = kDifference * deviation[c];
    Variances up = at, down = at;
    up[list[k]] += step;
    down[list[k]] = std::max(down[list[k]] - step, list[k] == 2 ? at[2] / 2 : 0.0);
    const Targets high = targets_at(equations, up);
    const Targets low = targets_at(equations, down);
    const double width = up[list[k]] - down[list[k]];
    by.value.conservativeResize(high.value.size(), c + 1);
    by.variance.conservativeResize(high.value.size(), c + 1);
    by.value.col(c) = (high.value - low.value) / width;
    by.variance.col(c) = (high.variance - low.variance) / width;
  }
  return by;
}

/// Two or three levels can lie close together by chance. Their variance is then underestimated, and so is its uncertainty. Estimates that
/// depend on their mean get at most twice their degrees of freedom (tests/study/survey_study.cpp: without it 95 % intervals cover 84 %).
double few_levels_limit(bool there, std::ptrdiff_t levels) {
  return there && levels > 1 && levels <= kFewLevels ? 2 * static_cast<double>(levels - 1) : kMostDegrees;
}

CrossedData standardised(CrossedData data, double centre, double scale) {
  for (double& y : data.y) y = (y - centre) / scale;
  return data;
}

double mean_of(const std::vector<double>& y) { return std::accumulate(y.begin(), y.end(), 0.0) / static_cast<double>(y.size()); }

double spread_of(const std::vector<double>& y) {
  const double mean = mean_of(y);
  double squares = 0;
  for (const double v : y) squares += (v - mean) * (v - mean);
  return squares > 0 ? std::sqrt(squares / static_cast<double>(y.size())) : 1.0;
}

}  // namespace

MixedModel::MixedModel(CrossedData data)
    : scale_(spread_of(data.y)), centre_(mean_of(data.y)), equations_(standardised(std::move(data), centre_, scale_)) {
  fitted_ = equations_.at({equations_.has_absorbed ? 1.0 : 0.0, equations_.has_kept ? 1.0 : 0.0});
}

bool MixedModel::separable() const {
  // With very wide effects, the residual's trace is the number of observations that remain for the residual.
  const EquationsAt wide = equations_.at({equations_.has_absorbed ? kWide : 0.0, equations_.has_kept ? kWide : 0.0});
  if (!(wide.trace[2] > 0.5)) return false;
  const EquationsAt e = equations_.at({equations_.has_absorbed ? 1.0 : 0.0, equations_.has_kept ? 1.0 : 0.0});
  Eigen::MatrixXd f = chosen(e.information, components(equations_));
  if (!(f.diagonal().minCoeff() > kSeparable)) return false;
  const Eigen::VectorXd size = f.diagonal().cwiseSqrt().cwiseInverse();
  f = outer_product(size, size).cwiseProduct(f).eval();
  // All eigenvalues exceed kSeparable if the matrix minus kSeparable times identity is positive definite. An eigensolver would take seconds
  // to compile.
  f.diagonal().array() -= kSeparable;
  return f.allFinite() && PositiveFactor(f).positive();
}

void MixedModel::fit() {
  fitted_ = scored(equations_, {1.0, 1.0});
  // A second start near zero effects is needed, because the likelihood of few levels can have two maxima.
  EquationsAt other = scored(equations_, {0.01, 0.01});
  if (other.criterion < fitted_.criterion - kNoise * std::abs(fitted_.criterion)) fitted_ = std::move(other);
  const double degrees = static_cast<double>(equations_.observations()) - equations_.fixed();
  const bool no_residual = std::max(fitted_.ratios.absorbed, fitted_.ratios.kept) >= kMostRatio * (1 - kConverged);
  // The effects explain all the scatter, so it has only their degrees of freedom.
  if (no_residual) fitted_.residual_variance *= degrees / (degrees - fitted_.trace[2]);
}

VarianceComponents MixedModel::variances() const {
  const double residual = fitted_.residual_variance * scale_ * scale_;
  const double absorbed = fitted_.ratios.absorbed * residual;
  const double kept = fitted_.ratios.kept * residual;
  return equations_.absorbs_first ? VarianceComponents{absorbed, kept, residual} : VarianceComponents{kept, absorbed, residual};
}

double MixedModel::criterion() const {
  const double degrees = static_cast<double>(equations_.observations()) - equations_.fixed();
  return fitted_.criterion + degrees * (1 + std::log(2 * std::numbers::pi) + 2 * std::log(scale_));
}

std::vector<MixedEstimate> MixedModel::adjusted_targets() const {
  const double residual = fitted_.residual_variance;
  const Variances at{fitted_.ratios.absorbed * residual, fitted_.ratios.kept * residual, residual};
  const auto list = components(equations_);
  const Eigen::MatrixXd information = chosen(fitted_.information, list) / (2 * residual * residual);
  const PivotedFactor factor(information);
  Eigen::MatrixXd covariance = factor.inverse();
  // The solver would treat singular directions as exactly known, although nothing is known about them.
  if (!(factor.pivots().minCoeff() > 0)) covariance.setConstant(std::numeric_limits<double>::quiet_NaN());
  const Targets centre = targets_of(equations_, fitted_, residual);
  const Derivatives by = derivatives(equations_, at, list, covariance.diagonal().cwiseSqrt());
  std::vector<MixedEstimate> made;
  for (Eigen::Index i = 0; i < centre.value.size(); ++i) {
    const Eigen::VectorXd value = by.value.row(i), variance = by.variance.row(i);
    const double moves = quadratic_form(covariance, value);
    const double doubt = quadratic_form(covariance, variance);
    const double v = centre.variance[i];
    const double degrees = doubt > 0 ? std::min(kMostDegrees, 2 * v * v / doubt) : kMostDegrees;
    made.push_back({centre.value[i] * scale_, std::sqrt(v + 2 * moves) * scale_, std::max(1.0, degrees)});
  }
  return made;
}

MixedEstimates MixedModel::estimates() const {
  const std::vector<MixedEstimate> made = adjusted_targets();
  MixedEstimates e;
  auto next = made.begin();
  e.mean = *next++;
  e.mean.value += centre_;
  if (equations_.fixed() == 2) e.slope = *next++;
  const bool first = equations_.absorbs_first ? equations_.has_absorbed : equations_.has_kept;
  const auto levels = equations_.absorbs_first ? static_cast<std::ptrdiff_t>(equations_.levels().size()) : equations_.kept_levels();
  e.mean_plus_first.assign(next, next + (first ? levels : 0));
  for (MixedEstimate& m : e.mean_plus_first) m.value += centre_;
  e.second_contrasts.assign(next + (first ? levels : 0), made.end());
  const double first_limit = few_levels_limit(first, levels);
  const double second_limit = few_levels_limit(!e.second_contrasts.empty(), static_cast<std::ptrdiff_t>(e.second_contrasts.size()));
  e.mean.degrees_of_freedom = std::min({e.mean.degrees_of_freedom, first_limit, second_limit});
  for (MixedEstimate& m : e.mean_plus_first) m.degrees_of_freedom = std::min(m.degrees_of_freedom, second_limit);
  return e;
}

LeftOutResidual MixedModel::left_out_residual(std::size_t k) const {
  const double degrees = static_cast<double>(equations_.observations()) - equations_.fixed();
  const int y_column = equations_.columns();
  const auto& level = equations_.levels()[static_cast<std::size_t>(equations_.level_of()[k])];
  const double shrink = fitted_.ratios.absorbed / (1 + fitted_.ratios.absorbed * level.count);
  const int own = equations_.has_kept ? equations_.fixed() + equations_.kept_of()[k] : 0;
  // A row of W[U y]: the observation's own row minus its level's share.
  std::vector<MixedEquations::Entry> row = level.entries;
  double y = 0;
  for (auto& [column, value] : row) {
    value *= -shrink;
    if (column == 0 || column == own) value += 1;
    if (column == 1 && equations_.fixed() == 2) value += equations_.covariate()[k];
    if (column == y_column) y += value + equations_.y()[k];
  }
  double p = 1 - shrink;
  for (const auto& [column, value] : row) {
    if (column == y_column) continue;
    y -= value * fitted_.unknowns[column];
    for (const auto& [other, weight] : row) p -= other == y_column ? 0.0 : value * weight * fitted_.covariance(column, other);
  }
  if (!(p > kNoLeverageLeft)) return {centre_ + scale_ * equations_.y()[k], 0};  // no other observation predicts this one
  const double square = y * y / (p * fitted_.residual_variance);
  // Internally studentised squares stay below the degrees of freedom; one that reaches them gets a very large t.
  const double t = std::sqrt(square * (degrees - 1) / std::max(degrees - square, 1e-9 * degrees));
  return {(equations_.y()[k] - y / p) * scale_ + centre_, std::copysign(t, y)};
}

std::vector<LeftOutResidual> MixedModel::left_out_residuals() const {
  std::vector<LeftOutResidual> all;
  for (std::size_t k = 0; k < equations_.observations(); ++k) all.push_back(left_out_residual(k));
  return all;
}

}  // namespace evenwall::internal::numeric
