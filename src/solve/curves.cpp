// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/curves.hpp"

#include <algorithm>
#include <cmath>

#include "numeric/linear_algebra.hpp"
#include "solve/criteria.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

double level_db(double magnitude) { return decibels(std::max(magnitude, kLeastMagnitude)); }

using Pick = Complex OwnLeaks::*;

/// setting_rad: the number on the log's gauge, as if it were radians, if the tilt is known by it; 0 if the true tilt is given.
LevelAt level_at(double tilt_deg, double setting_rad, const TiltAccount& account, Pick pick) {
  const double psi = account.psi_rad(radians(tilt_deg));
  const ResponseShape shape = account.shape();
  const Complex leak = own_leaks(psi, shape).*pick;
  // The variance is that of the component in phase with the crosstalk; its slopes are found by differences.
  const Complex direction = std::abs(leak) > 0 ? leak / std::abs(leak) : Complex{1, 0};
  Eigen::VectorXd slope = Eigen::VectorXd::Zero(2 + kCommonSize);
  for (int i = 0; i <= kShapeSize; ++i) {
    const auto moved = [&](double by) {
      const Nudged at = nudged(psi, shape, i, by);
      return own_leaks(at.psi_rad, at.shape).*pick;
    };
    const Complex d = (moved(kCurveStep_rad) - moved(-kCurveStep_rad)) / (2 * kCurveStep_rad);
    slope[i == 0 ? 0 : i + 1] = (i == 0 ? -1.0 : 1.0) * (d * std::conj(direction)).real();
  }
  slope[1] = -slope[0] * setting_rad;  // ψ = k · setting − φ0
  LevelAt level;
  level.db = level_db(std::abs(leak));
  level.u_magnitude = std::sqrt(std::max(0.0, numeric::quadratic_form(account.covariance, slope)));
  const double reach = coverage_factor95(account.degrees_of_freedom) * level.u_magnitude;
  level.band95_db = {level_db(std::abs(leak) - reach), level_db(std::abs(leak) + reach)};
  return level;
}

}  // namespace

LeakLevels leak_levels(double tilt_deg, const TiltAccount& account) {
  return {level_at(tilt_deg, 0, account, &OwnLeaks::right_into_left), level_at(tilt_deg, 0, account, &OwnLeaks::left_into_right)};
}

LeakLevels leak_levels_at_setting(double setting, const TiltAccount& account) {
  const double tilt_deg = account.scale * setting;
  const double setting_rad = radians(setting);
  return {level_at(tilt_deg, setting_rad, account, &OwnLeaks::right_into_left),
          level_at(tilt_deg, setting_rad, account, &OwnLeaks::left_into_right)};
}

TiltAccount account_of_answer(const TiltFit& fit, const CriterionTilt& least) {
  TiltAccount account = fit.likeliest();
  if (fit.accounts.size() == 1) return account;
  TiltFit alone;
  alone.gauge = fit.gauge;
  alone.u_zero_rad = fit.u_zero_rad;
  alone.accounts.push_back(account);
  alone.accounts.front().probability = 1;
  if (const auto own = criterion_tilt(CriterionKind::kLeast, alone)) account.least_rad += radians(least.tilt_deg - own->tilt_deg);
  return account;
}

Curves crosstalk_curves(const JointFit& joint, const TiltAccount& account, double recommended_deg) {
  double low = recommended_deg;
  double high = recommended_deg;
  for (const double tilt_deg : fitted_tilts_deg(joint)) {
    low = std::min(low, tilt_deg);
    high = std::max(high, tilt_deg);
  }
  Curves curves;
  for (int i = 0; i < kCurvePoints; ++i) {
    const double tilt = low - kCurveMargin_deg + (high - low + 2 * kCurveMargin_deg) * i / (kCurvePoints - 1);
    const LeakLevels levels = leak_levels(tilt, account);
    curves.tilt_deg.push_back(tilt);
    curves.right_into_left_db.push_back(levels.right_into_left.db);
    curves.left_into_right_db.push_back(levels.left_into_right.db);
    curves.right_into_left_band95_db.push_back(levels.right_into_left.band95_db);
    curves.left_into_right_band95_db.push_back(levels.left_into_right.band95_db);
  }
  return curves;
}

double rms_crosstalk_db(double tilt_deg, const TiltAccount& account) {
  const auto [rl, lr] = own_leaks(account.psi_rad(radians(tilt_deg)), account.shape());
  return 10.0 * std::log10(std::max(0.5 * (std::norm(rl) + std::norm(lr)), kLeastMagnitude * kLeastMagnitude));
}

}  // namespace evenwall::internal::solve
