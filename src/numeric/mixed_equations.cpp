// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/mixed_equations.hpp"

#include <algorithm>
#include <cmath>

#include "numeric/linear_algebra.hpp"

namespace evenwall::internal::numeric {
namespace {

constexpr double kLeastVariance = 1e-24;  // of y in units of its spread: rounding level; keeps exactly additive tables finite
constexpr double kTinyRatio = 1e-12;      // below it the limit for a ratio of zero is more accurate

void add_products(const std::vector<MixedEquations::Entry>& entries, double weight, Eigen::MatrixXd& sum) {
  for (const auto& [column, a] : entries) {
    for (const auto& [row, b] : entries) sum(row, column) += weight * a * b;
  }
}

/// Cross products that depend on the absorbed factor's ratio.
struct LevelSums {
  Eigen::MatrixXd products;  ///< [U y]'W[U y]
  Eigen::MatrixXd sums;      ///< Σ h h', h = (sums of a level)/(1 + ratio·count): rows of Z'W[U y]
  Eigen::MatrixXd weighted;  ///< Σ w h h', w = count/(1 + ratio·count)
  double w = 0, w2 = 0, log_determinant = 0;
};

LevelSums level_sums(const std::vector<MixedEquations::Level>& levels, const Eigen::MatrixXd& within, double ratio) {
  const Eigen::Index size = within.rows();
  LevelSums s{within, Eigen::MatrixXd::Zero(size, size), Eigen::MatrixXd::Zero(size, size)};
  for (const auto& level : levels) {
    const double shrink = 1 / (1 + ratio * level.count);
    const double w = level.count * shrink;
    add_products(level.entries, shrink / level.count, s.products);
    add_products(level.entries, shrink * shrink, s.sums);
    add_products(level.entries, w * shrink * shrink, s.weighted);
    s.w += w;
    s.w2 += w * w;
    s.log_determinant += std::log1p(ratio * level.count);
  }
  return s;
}

/// I_kept − K·U'W Z_kept: the part of the kept factor's columns that the equations do not explain.
Eigen::MatrixXd remainder_of(const Eigen::MatrixXd& covariance, const Eigen::MatrixXd& products, Eigen::Index fixed, double ratio) {
  const Eigen::Index q = covariance.rows();
  const Eigen::Index kept = q - fixed;
  if (ratio > kTinyRatio) return covariance.rightCols(kept) / ratio;
  Eigen::MatrixXd remainder = -times(covariance, products.topLeftCorner(q, q).rightCols(kept));
  remainder.bottomRows(kept) += Eigen::MatrixXd::Identity(kept, kept);
  return remainder;
}

void set_derivatives(const LevelSums& s, const Eigen::MatrixXd& remainder, double degrees, EquationsAt& e) {
  const Eigen::Index q = e.covariance.rows();
  const Eigen::Index kept = remainder.cols();
  const Eigen::MatrixXd h = s.sums.topLeftCorner(q, q);
  const Eigen::MatrixXd kh = times(e.covariance, h);
  Eigen::VectorXd left(q + 1);
  left << -e.unknowns, 1.0;
  e.quadratic[0] = quadratic_form(s.sums, left);
  e.trace[0] = s.w - kh.trace();
  auto& f = e.information;
  f(0, 0) = s.w2 - 2 * (e.covariance.cwiseProduct(s.weighted.topLeftCorner(q, q))).sum() + kh.cwiseProduct(kh.transpose()).sum();
  const Eigen::MatrixXd g = times(s.products.block(q - kept, 0, kept, q), remainder);
  const Eigen::MatrixXd turned = remainder.transpose();
  e.quadratic[1] = times_vector(turned, Eigen::VectorXd(s.products.col(q).head(q))).squaredNorm();
  e.trace[1] = g.trace();
  f(1, 1) = g.cwiseProduct(g.transpose()).sum();
  f(0, 1) = f(1, 0) = times(turned, h).cwiseProduct(turned).sum();
  // P V P = P gives the residual's row from the other rows.
  const auto [a, b] = e.ratios;
  f(2, 0) = f(0, 2) = e.trace[0] - a * f(0, 0) - b * f(0, 1);
  f(2, 1) = f(1, 2) = e.trace[1] - a * f(0, 1) - b * f(1, 1);
  e.trace[2] = degrees - a * e.trace[0] - b * e.trace[1];
  f(2, 2) = e.trace[2] - a * f(2, 0) - b * f(2, 1);
}

}  // namespace

MixedEquations::MixedEquations(const CrossedData& data)
    : absorbs_first(data.first_levels >= data.second_levels), y_(data.y), covariate_(data.covariate) {
  const auto& absorbed = absorbs_first ? data.first : data.second;
  const auto& kept = absorbs_first ? data.second : data.first;
  has_absorbed = !absorbed.empty();
  has_kept = !kept.empty();
  fixed_ = covariate_.empty() ? 1 : 2;
  kept_levels_ = has_kept ? std::min(data.first_levels, data.second_levels) : 0;
  level_of_ = has_absorbed ? absorbed : std::vector<int>(y_.size(), 0);
  kept_of_ = kept;
  levels_.resize(has_absorbed ? static_cast<std::size_t>(std::max(data.first_levels, data.second_levels)) : 1);
  within_ = Eigen::MatrixXd::Zero(columns() + 1, columns() + 1);
  take_levels(data);
  add_within();
}

void MixedEquations::take_levels(const CrossedData& data) {
  const auto add = [](Level& level, int column, double value) {
    const auto at = std::find_if(level.entries.begin(), level.entries.end(), [&](const Entry& e) { return e.column >= column; });
    if (at != level.entries.end() && at->column == column) {
      at->sum += value;
    } else {
      level.entries.insert(at, {column, value});
    }
  };
  const int y_column = columns();
  for (std::size_t k = 0; k < data.y.size(); ++k) {
    std::vector<Entry> row{{0, 1.0}};
    if (fixed_ == 2) row.push_back({1, covariate_[k]});
    if (has_kept) row.push_back({fixed_ + kept_of_[k], 1.0});
    row.push_back({y_column, y_[k]});
    Level& level = levels_[static_cast<std::size_t>(level_of_[k])];
    level.count += 1;
    for (const auto& [column, value] : row) add(level, column, value);
    add_products(row, 1.0, within_);
  }
}

void MixedEquations::add_within() {
  for (const Level& level : levels_) add_products(level.entries, -1 / level.count, within_);
}

EquationsAt MixedEquations::at(const VarianceRatios& ratios) const {
  const Eigen::Index q = columns();
  const LevelSums s = level_sums(levels_, within_, ratios.absorbed);
  Eigen::VectorXd scale = Eigen::VectorXd::Ones(q);
  scale.tail(kept_levels_).setConstant(std::sqrt(ratios.kept));
  const Eigen::MatrixXd scales = outer_product(scale, scale);
  Eigen::MatrixXd scaled = scales.cwiseProduct(s.products.topLeftCorner(q, q));
  scaled.diagonal().tail(kept_levels_).array() += 1;
  const PositiveFactor factor(scaled);
  EquationsAt e;
  e.ratios = ratios;
  e.covariance = scales.cwiseProduct(factor.inverse());
  const Eigen::VectorXd right = s.products.col(q).head(q);
  const Eigen::VectorXd scaled_unknowns = factor.solve(Eigen::VectorXd(scale.cwiseProduct(right)));
  e.unknowns = scale.cwiseProduct(scaled_unknowns);
  const auto degrees = static_cast<double>(observations()) - fixed_;
  const double squares = s.products(q, q) - dot(right, e.unknowns);
  e.residual_variance = std::max(squares / degrees, kLeastVariance);
  e.criterion = degrees * std::log(e.residual_variance) + s.log_determinant + factor.log_determinant();
  set_derivatives(s, remainder_of(e.covariance, s.products, fixed_, ratios.kept), degrees, e);
  return e;
}

}  // namespace evenwall::internal::numeric
