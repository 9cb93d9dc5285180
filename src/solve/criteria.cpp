// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/criteria.hpp"

#include <fmt/format.h>

#include <cmath>

#include "numeric/distributions.hpp"
#include "solve/method_constants.hpp"
#include "solve/root_distribution.hpp"

namespace evenwall::internal::solve {
namespace {

std::optional<CriterionTilt> spread_of(const RootDistribution& distribution, double degrees_of_freedom) {
  const auto low = distribution.quantile_rad(0.025);
  const auto middle = distribution.quantile_rad(0.5);
  const auto high = distribution.quantile_rad(0.975);
  if (!low || !middle || !high) return std::nullopt;
  return CriterionTilt{
      degrees(*middle), degrees(*high - *low) / (2 * numeric::kNormal95), {degrees(*low), degrees(*high)}, degrees_of_freedom};
}

/// The number that must differ from zero so that the criterion determines a tilt, and its uncertainty.
struct Lever {
  double value, u;
  const char* name;
};

Lever lever_of(CriterionKind kind, const TiltAccount& account) {
  const auto& c = account.signal_covariance;
  if (kind == CriterionKind::kEqual) {
    return {account.common[kShear], std::sqrt(c(kShear, kShear)), "in-phase shear"};
  }
  const double variance =
      0.25 * (c(kQuadratureLeft, kQuadratureLeft) + c(kQuadratureRight, kQuadratureRight)) + 0.5 * c(kQuadratureLeft, kQuadratureRight);
  return {0.5 * (account.common[kQuadratureLeft] + account.common[kQuadratureRight]), std::sqrt(variance), "quadrature shear"};
}

bool in_phase_there(const TiltFit& fit, double offset_rad) {
  const auto [rl, lr] = own_leaks(offset_rad, fit.likeliest().shape());
  return std::norm(rl + lr) > kPhaseMargin * std::norm(rl - lr);
}

}  // namespace

double coverage_factor95(double degrees_of_freedom) {
  return degrees_of_freedom > 0 ? numeric::student_quantile(0.975, degrees_of_freedom) : numeric::kNormal95;
}

std::optional<CriterionTilt> criterion_tilt(CriterionKind kind, const TiltFit& fit) {
  auto tilt = spread_of(RootDistribution(kind, fit, RootOf::kTilt), 0);
  if (tilt) {
    const TiltAccount& account = fit.likeliest();
    const double psi_rad = radians(tilt->tilt_deg) - account.least_rad;
    tilt->degrees_of_freedom = CriterionAccount(kind, account, RootOf::kTilt, fit.u_zero_rad)
                                   .effective_degrees_of_freedom(criterion_slope(kind, psi_rad, account.shape()), psi_rad);
  }
  return tilt;
}

std::optional<CriterionSetting> criterion_setting(CriterionKind kind, const TiltFit& fit) {
  // Logged numbers are fitted as if they were degrees, converted to radians; spread_of converts the root back.
  const auto root = spread_of(RootDistribution(kind, fit, RootOf::kSetting), 0);
  if (!root) return std::nullopt;
  return CriterionSetting{root->tilt_deg, root->u_deg, root->interval95_deg};
}

Determination determination(CriterionKind kind, const TiltFit& fit) {
  const char* what = kind == CriterionKind::kEqual ? "equal crosstalk" : "phase match";
  const Lever lever = lever_of(kind, fit.likeliest());
  if (std::abs(lever.value) < kSignificance * lever.u) {
    return {false, fmt::format("{} is met at no one tilt: the {} that would single it out, {:.2e}, can't be told from zero (u {:.1e})",
                               what, lever.name, lever.value, lever.u)};
  }
  const auto offset = spread_of(RootDistribution(kind, fit, RootOf::kOffset), 0);
  if (!offset) return {false, fmt::format("{} lies out of reach of least crosstalk", what)};
  const double half = 0.5 * (offset->interval95_deg[1] - offset->interval95_deg[0]);
  if (half > kWidestOffset_deg) {
    return {false,
            fmt::format("{} could lie within ±{:.2f}° of {:+.2f}° from least crosstalk: too wide to set by", what, half, offset->tilt_deg)};
  }
  if (kind == CriterionKind::kPhase && !in_phase_there(fit, radians(offset->tilt_deg))) {
    return {false, "where the phases' lines meet the leaks are in antiphase, not in phase"};
  }
  return {true, ""};
}

}  // namespace evenwall::internal::solve
