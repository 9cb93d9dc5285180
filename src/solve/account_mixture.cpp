// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/account_mixture.hpp"

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>

#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

/// Accounts with equal keys are merged.
using Key = std::tuple<GaugeStructure, double, double, std::size_t, bool, double, double, double>;

Key key_of(const TiltAccount& a, double least_cell, double scale_cell) {
  const double variance = std::max(a.covariance(0, 0), kLeastSpread * kLeastSpread);
  return {a.structure,
          a.gauge_u_rad,
          a.degrees_of_freedom,
          a.signal_case,
          a.scale_prior_used,
          std::floor(a.least_rad / least_cell),
          std::floor(a.scale / scale_cell),
          std::floor(4 * std::log2(variance))};
}

/// (φ0, k, common)
Eigen::VectorXd centre_of(const TiltAccount& a) {
  Eigen::VectorXd centre(2 + a.common.size());
  centre << a.least_rad, a.scale, a.common;
  return centre;
}

template <typename Iterator>
TiltAccount merged(Iterator begin, Iterator end) {
  TiltAccount one = *begin->second;
  if (end - begin == 1) return one;
  double sum = 0;
  Eigen::VectorXd centre = Eigen::VectorXd::Zero(2 + one.common.size());
  for (auto i = begin; i != end; ++i) {
    sum += i->second->probability;
    centre += i->second->probability * centre_of(*i->second);
  }
  centre /= sum;
  one.covariance.setZero();
  one.known_covariance.setZero();
  one.signal_covariance.setZero();
  for (auto i = begin; i != end; ++i) {
    const TiltAccount& a = *i->second;
    const double share = a.probability / sum;
    const Eigen::VectorXd off = centre_of(a) - centre;
    one.covariance += share * (a.covariance + off * off.transpose());
    one.known_covariance += share * a.known_covariance;
    one.signal_covariance += share * a.signal_covariance;
  }
  one.probability = sum;
  one.least_rad = centre[0];
  one.scale = centre[1];
  one.common = centre.tail(one.common.size());
  one.wrong.clear();
  one.exchanged.reset();
  return one;
}

}  // namespace

std::vector<TiltAccount> condensed(const std::vector<TiltAccount>& accounts) {
  const auto by_probability = [](const TiltAccount& a, const TiltAccount& b) { return a.probability < b.probability; };
  const TiltAccount& likeliest = *std::max_element(accounts.begin(), accounts.end(), by_probability);
  const auto cell = [](double variance) { return kMixtureCell * std::sqrt(std::max(variance, kLeastSpread * kLeastSpread)); };
  const double least_cell = cell(likeliest.covariance(0, 0)), scale_cell = cell(likeliest.covariance(1, 1));
  std::vector<TiltAccount> fewer;
  std::vector<std::pair<Key, const TiltAccount*>> small;
  for (const TiltAccount& a : accounts) {
    if (&a == &likeliest || a.probability > kSmallAccount) {
      fewer.push_back(a);
    } else {
      small.emplace_back(key_of(a, least_cell, scale_cell), &a);
    }
  }
  std::stable_sort(small.begin(), small.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
  for (auto begin = small.begin(); begin != small.end();) {
    const auto end = std::find_if(begin, small.end(), [&](const auto& a) { return a.first != begin->first; });
    fewer.push_back(merged(begin, end));
    begin = end;
  }
  return fewer;
}

}  // namespace evenwall::internal::solve
