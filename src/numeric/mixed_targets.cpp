// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/mixed_targets.hpp"

#include <vector>

namespace evenwall::internal::numeric {
namespace {

class TargetList {
 public:
  TargetList(const MixedEquations& equations, const EquationsAt& e, double residual) : equations_(equations), e_(e), residual_(residual) {}

  Targets all() {
    for (Eigen::Index k = 0; k < equations_.fixed(); ++k) add(e_.unknowns[k], e_.covariance(k, k));
    if (equations_.absorbs_first) {
      if (equations_.has_absorbed) absorbed_with_mean();
      if (equations_.has_kept) kept_contrasts();
    } else {
      if (equations_.has_kept) kept_with_mean();
      if (equations_.has_absorbed) absorbed_contrasts();
    }
    Targets t;
    t.value = Eigen::Map<Eigen::VectorXd>(value_.data(), static_cast<Eigen::Index>(value_.size()));
    t.variance = residual_ * Eigen::Map<Eigen::VectorXd>(variance_.data(), static_cast<Eigen::Index>(variance_.size())).cwiseMax(0.0);
    return t;
  }

 private:
  struct Absorbed {
    double effect, own, shrink;   ///< prediction; its variance if the unknowns were known; weight of the level's sum
    Eigen::VectorXd by_unknowns;  ///< K·s
    double quadratic;             ///< s'K s
  };

  void add(double value, double variance) { value_.push_back(value), variance_.push_back(variance); }

  [[nodiscard]] Absorbed absorbed(const MixedEquations::Level& level) const {
    const double ratio = e_.ratios.absorbed;
    Absorbed a;
    a.own = a.shrink = ratio / (1 + ratio * level.count);
    double left = 0;
    a.by_unknowns = Eigen::VectorXd::Zero(e_.covariance.rows());
    for (const auto& [column, sum] : level.entries) {
      if (column == equations_.columns()) {
        left += sum;
      } else {
        left -= sum * e_.unknowns[column];
        a.by_unknowns += sum * e_.covariance.col(column);
      }
    }
    a.effect = a.shrink * left;
    a.quadratic = 0;
    for (const auto& [column, sum] : level.entries) a.quadratic += column == equations_.columns() ? 0.0 : sum * a.by_unknowns[column];
    return a;
  }

  void absorbed_with_mean() {
    for (const auto& level : equations_.levels()) {
      const Absorbed a = absorbed(level);
      add(e_.unknowns[0] + a.effect, a.own + a.shrink * a.shrink * a.quadratic - 2 * a.shrink * a.by_unknowns[0] + e_.covariance(0, 0));
    }
  }

  void absorbed_contrasts() {
    std::vector<Absorbed> all;
    Eigen::VectorXd by_all = Eigen::VectorXd::Zero(e_.covariance.rows());  // K·Σ g s
    double own = 0, mean = 0;
    const auto n = static_cast<double>(equations_.levels().size());
    for (const auto& level : equations_.levels()) {
      all.push_back(absorbed(level));
      by_all += all.back().shrink * all.back().by_unknowns;
      own += all.back().own;
      mean += all.back().effect / n;
    }
    double total = own;
    for (std::size_t i = 0; i < all.size(); ++i) total += all[i].shrink * product(equations_.levels()[i], by_all);
    for (std::size_t i = 0; i < all.size(); ++i) {
      const Absorbed& a = all[i];
      const double with_mean = (a.own + a.shrink * product(equations_.levels()[i], by_all)) / n;
      add(a.effect - mean, a.own + a.shrink * a.shrink * a.quadratic - 2 * with_mean + total / (n * n));
    }
  }

  [[nodiscard]] double product(const MixedEquations::Level& level, const Eigen::VectorXd& by) const {
    double sum = 0;
    for (const auto& [column, s] : level.entries) sum += column == equations_.columns() ? 0.0 : s * by[column];
    return sum;
  }

  void kept_with_mean() {
    for (Eigen::Index j = equations_.fixed(); j < equations_.columns(); ++j) {
      add(e_.unknowns[0] + e_.unknowns[j], e_.covariance(0, 0) + e_.covariance(j, j) + 2 * e_.covariance(0, j));
    }
  }

  void kept_contrasts() {
    const Eigen::Index n = equations_.kept_levels();
    const Eigen::MatrixXd k = e_.covariance.bottomRightCorner(n, n);
    const Eigen::VectorXd row = k.rowwise().mean();
    const double mean = e_.unknowns.tail(n).mean();
    for (Eigen::Index j = 0; j < n; ++j) {
      add(e_.unknowns[equations_.fixed() + j] - mean, k(j, j) - 2 * row[j] + row.mean());
    }
  }

  const MixedEquations& equations_;
  const EquationsAt& e_;
  double residual_;
  std::vector<double> value_, variance_;
};

}  // namespace

Targets targets_of(const MixedEquations& equations, const EquationsAt& e, double residual) {
  return TargetList(equations, e, residual).all();
}

}  // namespace evenwall::internal::numeric
