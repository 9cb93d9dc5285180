// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/balance.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "numeric/linear_algebra.hpp"

namespace evenwall::internal::solve {
namespace {

/// Slope of a straight line of the levels' balance over the signal's tilts, dB per degree.
OptionalNumber balance_slope(const JointFit& joint) {
  double n = 0, x = 0, y = 0, xx = 0, xy = 0;
  for (std::size_t i = 0; i < joint.observations.fitted.size(); ++i) {
    const OptionalNumber level = ln_level_ratio_straight(joint.observations.fitted[i], joint.signal.common);
    if (!level) continue;
    const double t = degrees(joint.signal.psi_rad[static_cast<Eigen::Index>(i)]);
    n += 1, x += t, y += *level * kDbPerNeper, xx += t * t, xy += t * *level * kDbPerNeper;
  }
  const double spread = n * xx - x * x;
  if (n < 3 || !(spread > 1e-6)) return std::nullopt;
  return (n * xy - x * y) / spread;
}

/// Separates the two parts of the balance: swapped leads reverse the cartridge's part and do not change the preamplifier's.
void part_by_swapped_leads(const JointFit& joint, Balance& balance) {
  const auto& fitted = joint.observations.fitted;
  const auto swapped = std::count_if(fitted.begin(), fitted.end(), [](const Observation& o) { return o.leads_swapped; });
  if (swapped == 0 || swapped == static_cast<std::ptrdiff_t>(fitted.size())) return;
  const TiltAccount& account = joint.tilt.likeliest();
  const auto spread = [&](double gain, double preamplifier) {
    Eigen::VectorXd by = Eigen::VectorXd::Zero(2 + kCommonSize);
    by[2 + kLnGain] = gain;
    by[2 + kLnPreamplifier] = preamplifier;
    return std::sqrt(std::max(0.0, numeric::quadratic_form(account.covariance, by))) * kDbPerNeper;
  };
  balance.preamplifier_db = account.common[kLnPreamplifier] * kDbPerNeper;
  balance.u_preamplifier_db = spread(0, 1);
  balance.cartridge_db = (account.common[kLnGain] - account.common[kLnPreamplifier]) * kDbPerNeper;
  balance.u_cartridge_db = spread(1, -1);
}

}  // namespace

Balance balance_of(const JointFit& joint) {
  Balance balance;
  const auto& fitted = joint.observations.fitted;
  double sum = 0, u2 = 0, n = 0;
  bool phase_seen = fitted.size() > 1 && !joint.sizes_only;
  for (const Observation& o : fitted) {
    phase_seen |= o.interchannel_phase_rad.has_value();
    const OptionalNumber level = ln_level_ratio_straight(o, joint.signal.common);
    if (!level) continue;
    sum += *level;
    u2 += o.u_ln_level_ratio * o.u_ln_level_ratio;
    n += 1;
  }
  if (n > 0) {
    balance.from_levels_db = (sum / n - joint.gains.ln_cut_ratio) * kDbPerNeper;
    balance.u_from_levels_db = std::hypot(std::sqrt(u2) / n, joint.gains.u_ln_cut_ratio) * kDbPerNeper;
  }
  balance.used = BalanceSource::kLevels;
  if (joint.by_response) {
    const SignalFit& free = *joint.by_response;
    const Eigen::Index row = free.psi_rad.size() + kLnGain;
    balance.from_tilt_response_db = free.common[kLnGain] * kDbPerNeper;
    balance.u_from_tilt_response_db = std::sqrt(free.covariance(row, row)) * kDbPerNeper;
    balance.used = n > 0 ? BalanceSource::kBoth : BalanceSource::kTiltResponse;
  }
  if (phase_seen) {
    balance.interchannel_phase_deg = degrees(
        std::remainder(joint.tilt.likeliest().common[kGainPhase] - (joint.polarity_turned ? std::numbers::pi : 0.0), 2 * std::numbers::pi));
  }
  balance.slope_db_per_deg = balance_slope(joint);
  part_by_swapped_leads(joint, balance);
  return balance;
}

}  // namespace evenwall::internal::solve
