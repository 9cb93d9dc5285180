// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_line.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numeric>
#include <tuple>

#include "numeric/triangular_fit.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {

CaptureOrder::CaptureOrder(const std::vector<Observation>& observations, const Eigen::VectorXd& psi_rad)
    : observation(observations.size()) {
  assert(!observations.empty());
  const auto n = static_cast<Eigen::Index>(observations.size());
  std::iota(observation.begin(), observation.end(), Eigen::Index{0});
  const auto at = [&](Eigen::Index p) -> const Observation& {
    return observations[static_cast<std::size_t>(observation[static_cast<std::size_t>(p)])];
  };
  std::stable_sort(observation.begin(), observation.end(), [&](Eigen::Index a, Eigen::Index b) {
    const Observation& one = observations[static_cast<std::size_t>(a)];
    const Observation& other = observations[static_cast<std::size_t>(b)];
    return std::tie(one.order, one.step) < std::tie(other.order, other.step);
  });
  place.resize(observations.size());
  for (Eigen::Index i = 0; i < n; ++i) place[static_cast<std::size_t>(observation[static_cast<std::size_t>(i)])] = i;
  std::vector<double> moves;
  direction = time = Eigen::VectorXd::Zero(n);
  double way = 0;
  for (Eigen::Index i = 0; i < n; ++i) {
    const double before = i == 0 ? 0.0 : at(i - 1).logged;
    const double by = at(i).logged - before;
    const auto psi = [&](Eigen::Index p) { return psi_rad[observation[static_cast<std::size_t>(p)]]; };
    if (i == 0 || by != 0 || std::abs(psi(i) - psi(i - 1)) > kSameSetting_rad) {
      moves.push_back(std::abs(by));
      way = i == 0 || by == 0 ? 0.0 : by > 0 ? 0.5 : -0.5;  // the direction to the first setting is not known
    }
    setting.push_back(static_cast<Eigen::Index>(moves.size()) - 1);
    direction[i] = at(i).approach == 0 ? way : 0.5 * at(i).approach;
    time[i] = n > 1 ? static_cast<double>(i) / static_cast<double>(n - 1) : 0.0;
  }
  settings = static_cast<Eigen::Index>(moves.size());
  move = Eigen::VectorXd::Ones(settings);
  if (settings < 2) return;
  std::vector<double> sorted(moves.begin() + 1, moves.end());
  std::sort(sorted.begin(), sorted.end());
  const double usual = 0.5 * (sorted[(sorted.size() - 1) / 2] + sorted[sorted.size() / 2]);
  if (!(usual > 0)) return;
  for (Eigen::Index s = 1; s < settings; ++s) move[s] = moves[static_cast<std::size_t>(s)] / usual;
}

bool CaptureOrder::shows_direction() const {
  Eigen::Index up = 0, down = 0;
  for (std::size_t i = 0; i < setting.size(); ++i) {
    if (i > 0 && setting[i] == setting[i - 1]) continue;
    up += direction[static_cast<Eigen::Index>(i)] > 0 ? 1 : 0;
    down += direction[static_cast<Eigen::Index>(i)] < 0 ? 1 : 0;
  }
  return std::min(up, down) >= 2;
}

bool CaptureOrder::shows_time(const Eigen::VectorXd& logged) const {
  if (settings < 3) return false;
  const Eigen::VectorXd t = time.array() - time.mean();
  const Eigen::VectorXd l = logged.array() - logged.mean();
  const double along = l.squaredNorm() > 0 ? t.dot(l) * t.dot(l) / l.squaredNorm() : 0.0;
  return t.squaredNorm() - along > kTimeApart * kTimeApart * t.squaredNorm();
}

GaugeLine::GaugeLine(const std::vector<Observation>& observations, const SignalFit& signal)
    : order_(observations, signal.psi_rad), setting_of_(observations.size()), line_(Eigen::Vector2d::Zero()) {
  const Eigen::Index n = signal.psi_rad.size();
  for (std::size_t i = 0; i < observations.size(); ++i) setting_of_[static_cast<std::size_t>(order_.observation[i])] = order_.setting[i];
  rest_ = in_order(signal.psi_rad);
  own_ = in_order(signal.covariance.own().head(n));
  const auto shared = signal.covariance.root().topRows(n);
  causes_ = shared.cols();
  for (Eigen::Index c = 0; c < causes_; ++c) {
    if ((shared.col(c).array() != 0).any()) shown_causes_.push_back(c);
  }
  design_.resize(n, 2 + static_cast<Eigen::Index>(shown_causes_.size()));
  design_.col(0).setConstant(-1);
  Eigen::VectorXd logged(n);
  for (Eigen::Index i = 0; i < n; ++i) logged[i] = radians(observations[static_cast<std::size_t>(i)].logged);
  design_.col(1) = in_order(logged);
  // The true tilts are the signal's tilts plus the causes' part, so the causes enter the equation of the signal's tilts with a minus.
  for (std::size_t c = 0; c < shown_causes_.size(); ++c)
    design_.col(2 + static_cast<Eigen::Index>(c)) = -in_order(shared.col(shown_causes_[c]));
  straighten();
}

std::vector<std::size_t> GaugeLine::observations_of(Eigen::Index setting) const {
  std::vector<std::size_t> all;
  for (std::size_t i = 0; i < setting_of_.size(); ++i) {
    if (setting_of_[i] == setting) all.push_back(i);
  }
  return all;
}

std::vector<Eigen::Index> GaugeLine::settings_by_observation() const {
  std::vector<Eigen::Index> all;
  std::vector<bool> taken(static_cast<std::size_t>(order_.settings));
  for (const Eigen::Index s : setting_of_) {
    if (!taken[static_cast<std::size_t>(s)]) all.push_back(s);
    taken[static_cast<std::size_t>(s)] = true;
  }
  return all;
}

Eigen::VectorXd GaugeLine::in_order(const Eigen::VectorXd& each) const {
  Eigen::VectorXd ordered(each.size());
  for (Eigen::Index i = 0; i < each.size(); ++i) ordered[i] = each[order_.observation[static_cast<std::size_t>(i)]];
  return ordered;
}

void GaugeLine::straighten() {
  const Eigen::VectorXd tilts = rest_;
  const double range = design_.col(1).maxCoeff() - design_.col(1).minCoeff();
  const bool sloped = range > kLeastRange * design_.col(1).cwiseAbs().maxCoeff();
  for (int round = 0; round < 2; ++round) {
    numeric::TriangularFit fit(sloped ? 2 : 1);
    for (const Eigen::Index i : order_.place) fit.add(&design_(i, 0), rest_[i], design_.outerStride());
    fit.finish();
    line_.head(fit.unknowns()) += fit.coefficients();
    for (Eigen::Index i = 0; i < size(); ++i) {
      rest_[i] = static_cast<double>(static_cast<long double>(tilts[i]) + static_cast<long double>(line_[0]) -
                                     static_cast<long double>(line_[1]) * static_cast<long double>(design_(i, 1)));
    }
  }
}

}  // namespace evenwall::internal::solve
