// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/criteria.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "numeric/distributions.hpp"
#include "solve/method_constants.hpp"
#include "solve/root_distribution.hpp"

namespace evenwall::internal::solve {
namespace {

/// The median of a root's distribution and the ends of its 95 % interval, radians.
struct Spread {
  double low, middle, high;
};

std::optional<Spread> spread_of(const RootDistribution& distribution) {
  const auto low = distribution.quantile_rad(0.025);
  const auto middle = distribution.quantile_rad(0.5);
  const auto high = distribution.quantile_rad(0.975);
  if (!low || !middle || !high) return std::nullopt;
  return Spread{*low, *middle, *high};
}

/// Degrees of freedom of the t distribution that has the same ratio of its 95 % interval to its 68.27 % interval: at least 1. 0 (normal) if
/// the tails of the distribution are not heavier than normal ones.
double degrees_of_freedom_by_tails(const RootDistribution& distribution, const Spread& spread) {
  const double one_u = numeric::normal_cdf(1);
  const auto low = distribution.quantile_rad(1 - one_u);
  const auto high = distribution.quantile_rad(one_u);
  if (!low || !high || !(*high > *low)) return 0;
  const double ratio = (spread.high - spread.low) / (*high - *low);
  const auto excess = [&](double inverse_nu) {
    return numeric::student_quantile(0.975, 1 / inverse_nu) / numeric::student_quantile(one_u, 1 / inverse_nu) - ratio;
  };
  if (!(excess(1 / kPracticallyNormal_nu) < 0)) return 0;
  if (!(excess(1) > 0)) return 1;
  return 1 / numeric::bracketed_root(excess, 1 / kPracticallyNormal_nu, 1).value_or(1);
}

/// Those of the likeliest account, by Welch and Satterthwaite. If it has none, the tails of the mixture show them.
double degrees_of_freedom_of(CriterionKind kind, const TiltFit& fit, RootOf of, const RootDistribution& distribution,
                             const Spread& spread) {
  const TiltAccount& likeliest = fit.likeliest();
  const double psi_rad = likeliest.psi_rad((of == RootOf::kSetting ? likeliest.scale : 1.0) * spread.middle);
  double nu = CriterionAccount(kind, likeliest, of, fit.u_zero_rad)
                  .effective_degrees_of_freedom(criterion_slope(kind, psi_rad, likeliest.shape()), psi_rad);
  if (nu == 0 && fit.accounts.size() > 1) nu = degrees_of_freedom_by_tails(distribution, spread);
  return nu < kPracticallyNormal_nu ? nu : 0;
}

std::optional<CriterionTilt> root_of(CriterionKind kind, const TiltFit& fit, RootOf of) {
  const RootDistribution distribution(kind, fit, of);
  const auto spread = spread_of(distribution);
  if (!spread) return std::nullopt;
  const double nu = degrees_of_freedom_of(kind, fit, of, distribution, *spread);
  return CriterionTilt{degrees(spread->middle),
                       degrees(spread->high - spread->low) / (2 * coverage_factor95(nu)),
                       {degrees(spread->low), degrees(spread->high)},
                       nu};
}

/// The number that must differ from zero so that the criterion determines a tilt, and its uncertainty.
struct Lever {
  double value, u;
  const char* name;
};

Lever lever_of(CriterionKind kind, const TiltAccount& account) {
  const auto& c = account.signal_covariance;
  if (kind == CriterionKind::kEqual) {
    return {account.common[kShear], std::sqrt(c(kShear, kShear)), "in-phase crosstalk that azimuth cannot remove (shear)"};
  }
  const double variance =
      0.25 * (c(kQuadratureLeft, kQuadratureLeft) + c(kQuadratureRight, kQuadratureRight)) + 0.5 * c(kQuadratureLeft, kQuadratureRight);
  return {0.5 * (account.common[kQuadratureLeft] + account.common[kQuadratureRight]), std::sqrt(variance),
          "90° crosstalk that both channels share (quadrature shear)"};
}

bool in_phase_there(const TiltFit& fit, double offset_rad) {
  const auto [rl, lr] = own_leaks(offset_rad, fit.likeliest().shape());
  return std::norm(rl + lr) > kPhaseMargin * std::norm(rl - lr);
}

}  // namespace

double coverage_factor95(double degrees_of_freedom) {
  return degrees_of_freedom > 0 ? numeric::student_quantile(0.975, degrees_of_freedom) : numeric::kNormal95;
}

Share fading(double ratio, double slope) {
  const double value = (1 + slope) * ratio - slope;
  return value >= 1 ? Share{1, 1} : Share{std::max(value, 0.0), slope};
}

std::optional<CriterionTilt> criterion_tilt(CriterionKind kind, const TiltFit& fit) { return root_of(kind, fit, RootOf::kTilt); }

std::optional<CriterionSetting> criterion_setting(CriterionKind kind, const TiltFit& fit) {
  // Logged numbers are fitted as if they were degrees, converted to radians; root_of converts the root back.
  const auto root = root_of(kind, fit, RootOf::kSetting);
  if (!root) return std::nullopt;
  return CriterionSetting{root->tilt_deg, root->u_deg, root->interval95_deg};
}

Determination determination(CriterionKind kind, const TiltFit& fit) {
  Determination result;
  const Lever lever = lever_of(kind, fit.likeliest());
  if (std::abs(lever.value) < kSignificance * lever.u) {
    result.why = fmt::format("it cannot be determined, because the {}, {:.2e} (u {:.1e}), cannot be distinguished from zero", lever.name,
                             lever.value, lever.u);
    return result;
  }
  const auto offset = spread_of(RootDistribution(kind, fit, RootOf::kOffset));
  if (!offset) {
    result.why = kNoEndInReach;
    return result;
  }
  const double half = 0.5 * degrees(offset->high - offset->low);
  if (half > kWidestOffset_deg) {
    result.why = fmt::format(
        "it is not determined well enough: its 95 % interval is {:+.2f}° to {:+.2f}° from least crosstalk, "
        "and the limit of its width is {:.1f}°",
        degrees(offset->low), degrees(offset->high), 2 * kWidestOffset_deg);
    return result;
  }
  if (kind == CriterionKind::kPhase && !in_phase_there(fit, offset->middle)) {
    result.why = "it does not exist, because the crosstalk of the two channels is in antiphase, not in phase, at the tilt in question";
    return result;
  }
  result.determined = true;
  // The distance d of a criterion is inversely proportional to its lever, and the width of its interval to the square of d.
  const Share by_lever = fading(std::abs(lever.value) / (kClearSignificance * lever.u), 1);
  const Share by_width = fading(std::sqrt(kNarrowOffset_deg / half), kWideOffsetSlope);
  result.share = by_lever.value < by_width.value ? by_lever : by_width;
  result.u_offset_deg = half / coverage_factor95(0);
  return result;
}

}  // namespace evenwall::internal::solve
