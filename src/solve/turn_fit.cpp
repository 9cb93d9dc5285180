// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/turn_fit.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>

#include "solve/method_constants.hpp"
#include "solve/signal_scale.hpp"

namespace evenwall::internal::solve {

TiltAccount turn_account(const SignalFit& signal, std::size_t from, double u_record_rad) {
  const auto row = static_cast<Eigen::Index>(from);
  const Eigen::Index common = signal.psi_rad.size();
  assert(row < common);
  TiltAccount account;
  account.probability = 1;
  account.least_rad = -signal.psi_rad[row];
  account.common = signal.common;
  account.signal_covariance = signal.covariance.bottom_right_corner(kCommonSize);
  account.covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  account.covariance(0, 0) = signal.covariance(row, row) + u_record_rad * u_record_rad;
  for (Eigen::Index k = 0; k < kCommonSize; ++k) {
    account.covariance(0, 2 + k) = account.covariance(2 + k, 0) = -signal.covariance(row, common + k);
  }
  account.covariance.bottomRightCorner(kCommonSize, kCommonSize) = account.signal_covariance;
  account.known_covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  return account;
}

TiltFit fit_turn(const SignalFit& signal, std::size_t from, const GaugePriors& priors) {
  if (!signal.psi_rad.allFinite() || !signal.covariance.variances().allFinite()) throw_no_numbers();
  TiltFit fit;
  fit.accounts.push_back(turn_account(signal, from, radians(priors.u_record_deg)));
  add_signal_scales(priors.signal_scales, fit.accounts);
  return fit;
}

SignalFit with_tilts_of_first(std::size_t steps, const SignalFit& signal) {
  const auto n = static_cast<Eigen::Index>(steps);
  assert(n <= signal.psi_rad.size());
  if (n == signal.psi_rad.size()) return signal;
  const auto kept = [&](const auto& all) {
    using Kept = std::decay_t<decltype(all)>;
    Kept some(n + kCommonSize, all.cols());
    some.topRows(n) = all.topRows(n);
    some.bottomRows(kCommonSize) = all.bottomRows(kCommonSize);
    return some;
  };
  SignalFit first = signal;
  first.psi_rad = signal.psi_rad.head(n).eval();
  first.covariance = {Eigen::VectorXd(kept(signal.covariance.own())), Eigen::MatrixXd(kept(signal.covariance.root()))};
  if (signal.own_ln_gain.size() > 0) first.own_ln_gain = signal.own_ln_gain.head(n).eval();
  return first;
}

double u_between_rad(const SignalFit& signal, std::size_t one, std::size_t other) {
  const auto i = static_cast<Eigen::Index>(one), k = static_cast<Eigen::Index>(other);
  const double variance = signal.covariance(i, i) + signal.covariance(k, k) - 2 * signal.covariance(i, k);
  return i == k ? 0.0 : std::sqrt(std::max(0.0, variance));
}

bool azimuths_differ(const SignalFit& signal) {
  Eigen::Index low = 0, high = 0;
  const double apart = signal.psi_rad.maxCoeff(&high) - signal.psi_rad.minCoeff(&low);
  return apart > kAzimuthsApart_u * u_between_rad(signal, static_cast<std::size_t>(low), static_cast<std::size_t>(high));
}

}  // namespace evenwall::internal::solve
