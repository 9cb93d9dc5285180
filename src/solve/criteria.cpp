#include "solve/criteria.hpp"

#include <fmt/format.h>

#include <cmath>

#include "numeric/distributions.hpp"

namespace evenwall {
namespace {

constexpr double kReach_deg = 6.0;            // an answer further from least crosstalk is no azimuth
constexpr double kReachEstimated_deg = 20.0;  // heavy tails of a gauge known from few steps need more room
constexpr double kSignificance = 5.0;         // |σ| over its uncertainty: its sign is then wrong in 3 of 10⁷
constexpr double kWidestOffset_deg = 0.25;    // 95 % half-width of the criterion's distance from least crosstalk
constexpr double kPhaseMargin = 1.5;          // |σ|² over |ρ|²: beyond it the leaks are in phase rather than in antiphase
constexpr double kNormal95 = 1.959964;        // u is defined so that a normal distribution has this factor
constexpr double kLeastSpread = 1e-15;

using ShapeCovariance = Eigen::Matrix<double, 1 + kShapeSize, 1 + kShapeSize>;

/// Covariance of (ψ = tilt − φ0, shape): the tilt is given, so ψ moves against φ0.
ShapeCovariance covariance_of(const Eigen::MatrixXd& joint, bool with_least) {
  ShapeCovariance c;
  c.bottomRightCorner<kShapeSize, kShapeSize>() = joint.block<kShapeSize, kShapeSize>(2, 2);
  const double keep = with_least ? 1.0 : 0.0;
  c(0, 0) = keep * joint(0, 0);
  c.block<1, kShapeSize>(0, 1) = -keep * joint.block<1, kShapeSize>(0, 2);
  c.block<kShapeSize, 1>(1, 0) = c.block<1, kShapeSize>(0, 1).transpose();
  return c;
}

/// Welch–Satterthwaite: what is stated has no scatter of its own, so its share lends degrees of freedom to the sum (JCGM 100, G.4).
double effective_degrees_of_freedom(const TiltAccount& account, const Eigen::Matrix<double, 1 + kShapeSize, 1>& slope, bool with_least) {
  if (!(account.degrees_of_freedom > 0)) return 0;
  const double all = slope.dot(covariance_of(account.covariance, with_least) * slope);
  const double estimated = all - slope.dot(covariance_of(account.known_covariance, with_least) * slope);
  if (!(estimated > 1e-6 * all)) return 0;
  return account.degrees_of_freedom * (all / estimated) * (all / estimated);
}

/// Probability that the root lies below v (rising criterion) under one account.
double probability_below(CriterionKind kind, const TiltAccount& account, double psi_rad, bool with_least) {
  const ResponseShape shape = account.shape();
  const auto slope = criterion_slope(kind, psi_rad, shape);
  double variance = slope.dot(covariance_of(account.covariance, with_least) * slope);
  if (kind != CriterionKind::kLeast) {
    // A lucky scatter about the log must not make the shear look better known than the signal knows it.
    const Eigen::Matrix<double, kShapeSize, 1> s = slope.tail<kShapeSize>();
    variance = std::max(variance, s.dot(account.signal_covariance.topLeftCorner<kShapeSize, kShapeSize>() * s));
  }
  const double z = criterion(kind, psi_rad, shape) / std::sqrt(std::max(variance, kLeastSpread * kLeastSpread));
  const double nu = effective_degrees_of_freedom(account, slope, with_least);
  return nu > 0 ? student_cdf(z, nu) : normal_cdf(z);
}

/// Distribution function of the root over all accounts, as a function of the tilt from `centre`.
class RootDistribution {
 public:
  RootDistribution(CriterionKind kind, const TiltFit& fit, bool offset_only) : kind_(kind), fit_(fit), offset_only_(offset_only) {
    for (const TiltAccount& a : fit.accounts) centre_rad_ += offset_only ? 0.0 : a.probability * a.least_rad;
    reach_rad_ =
        radians(fit.gauge == GaugeKnowledge::kEstimated || fit.gauge == GaugeKnowledge::kUnderstated ? kReachEstimated_deg : kReach_deg);
    falling_ = raw(centre_rad_ + reach_rad_) < raw(centre_rad_ - reach_rad_);
  }
  /// None where the distribution does not reach `probability` within reach.
  [[nodiscard]] std::optional<double> quantile_rad(double probability) const {
    return bracketed_root([&](double v) { return at(v) - probability; }, centre_rad_ - reach_rad_, centre_rad_ + reach_rad_);
  }

 private:
  [[nodiscard]] double at(double v_rad) const { return falling_ ? 1.0 - raw(v_rad) : raw(v_rad); }
  [[nodiscard]] double raw(double v_rad) const {
    double p = 0;
    for (const TiltAccount& a : fit_.accounts) {
      if (a.probability < 1e-9) continue;
      p += a.probability * probability_below(kind_, a, v_rad - (offset_only_ ? 0.0 : a.least_rad), !offset_only_);
    }
    return p;
  }

  CriterionKind kind_;
  const TiltFit& fit_;
  bool offset_only_;
  double centre_rad_ = 0;
  double reach_rad_ = 0;
  bool falling_ = false;
};

std::optional<CriterionTilt> spread_of(const RootDistribution& distribution, double degrees_of_freedom) {
  const auto low = distribution.quantile_rad(0.025);
  const auto middle = distribution.quantile_rad(0.5);
  const auto high = distribution.quantile_rad(0.975);
  if (!low || !middle || !high) return std::nullopt;
  return CriterionTilt{degrees(*middle), degrees(*high - *low) / (2 * kNormal95), {degrees(*low), degrees(*high)}, degrees_of_freedom};
}

/// The number that has to differ from zero for the criterion to point anywhere, and its uncertainty.
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
  return degrees_of_freedom > 0 ? student_quantile(0.975, degrees_of_freedom) : kNormal95;
}

std::optional<CriterionTilt> criterion_tilt(CriterionKind kind, const TiltFit& fit) {
  auto tilt = spread_of(RootDistribution(kind, fit, false), 0);
  if (tilt) {
    const TiltAccount& account = fit.likeliest();
    tilt->degrees_of_freedom =
        effective_degrees_of_freedom(account, criterion_slope(kind, radians(tilt->tilt_deg) - account.least_rad, account.shape()), true);
  }
  return tilt;
}

Determination determination(CriterionKind kind, const TiltFit& fit) {
  const char* what = kind == CriterionKind::kEqual ? "equal crosstalk" : "phase match";
  const Lever lever = lever_of(kind, fit.likeliest());
  if (std::abs(lever.value) < kSignificance * lever.u) {
    return {false, fmt::format("{} is met at no one tilt: the {} that would single it out, {:.2e}, can't be told from zero (u {:.1e})",
                               what, lever.name, lever.value, lever.u)};
  }
  const auto offset = spread_of(RootDistribution(kind, fit, true), 0);
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

}  // namespace evenwall
