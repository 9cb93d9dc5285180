#include "solve/root_distribution.hpp"

#include <algorithm>
#include <cmath>

#include "numeric/distributions.hpp"

namespace evenwall {
namespace {

constexpr double kReach_deg = 6.0;            // an answer further from least crosstalk is no azimuth
constexpr double kReachEstimated_deg = 20.0;  // heavy tails of a gauge known from few steps need more room
constexpr double kLeastSpread = 1e-15;
constexpr int kSecants = 8;          // rounds before the bracketing method takes over
constexpr double kSettled = 1e-9;    // standard deviations a round may still move: the next would move 1e-11
constexpr double kFirstStep = 1e-3;  // of the likeliest account's own spread, for a first slope

}  // namespace

CriterionAccount::CriterionAccount(CriterionKind kind, const TiltAccount& account, bool with_least)
    : kind_(kind),
      shape_(account.shape()),
      signal_(account.signal_covariance.topLeftCorner<kShapeSize, kShapeSize>()),
      degrees_of_freedom_(account.degrees_of_freedom),
      all_estimated_((account.known_covariance.array() == 0).all()) {
  // The tilt is given, so ψ moves against φ0.
  const auto of = [&](const Eigen::MatrixXd& joint) {
    Covariance c;
    c.bottomRightCorner<kShapeSize, kShapeSize>() = joint.block<kShapeSize, kShapeSize>(2, 2);
    const double keep = with_least ? 1.0 : 0.0;
    c(0, 0) = keep * joint(0, 0);
    c.block<1, kShapeSize>(0, 1) = -keep * joint.block<1, kShapeSize>(0, 2);
    c.block<kShapeSize, 1>(1, 0) = c.block<1, kShapeSize>(0, 1).transpose();
    return c;
  };
  covariance_ = of(account.covariance);
  known_ = of(account.known_covariance);
}

double CriterionAccount::effective_degrees_of_freedom(const Slope& slope) const {
  if (!(degrees_of_freedom_ > 0)) return 0;
  if (all_estimated_) return degrees_of_freedom_;
  const double all = slope.dot(covariance_ * slope);
  const double estimated = all - slope.dot(known_ * slope);
  if (!(estimated > 1e-6 * all)) return 0;
  return degrees_of_freedom_ * (all / estimated) * (all / estimated);
}

double CriterionAccount::probability_below(double psi_rad) const {
  const CriterionAt here = criterion_at(kind_, psi_rad, shape_);
  double variance = here.slope.dot(covariance_ * here.slope);
  if (kind_ != CriterionKind::kLeast) {
    // A lucky scatter about the log must not make the shear look better known than the signal knows it.
    const Eigen::Matrix<double, kShapeSize, 1> s = here.slope.tail<kShapeSize>();
    variance = std::max(variance, s.dot(signal_ * s));
  }
  const double z = here.value / std::sqrt(std::max(variance, kLeastSpread * kLeastSpread));
  const double nu = effective_degrees_of_freedom(here.slope);
  return nu > 0 ? student_cdf(z, nu) : normal_cdf(z);
}

RootDistribution::RootDistribution(CriterionKind kind, const TiltFit& fit, bool offset_only) {
  for (const TiltAccount& a : fit.accounts) {
    centre_rad_ += offset_only ? 0.0 : a.probability * a.least_rad;
    if (a.probability < kLeastProbability) continue;
    parts_.push_back({a.probability, offset_only ? 0.0 : a.least_rad, CriterionAccount(kind, a, !offset_only)});
    if (a.probability > parts_[likeliest_].probability) likeliest_ = parts_.size() - 1;
  }
  reach_rad_ =
      radians(fit.gauge == GaugeKnowledge::kEstimated || fit.gauge == GaugeKnowledge::kUnderstated ? kReachEstimated_deg : kReach_deg);
  const double low = raw(centre_rad_ - reach_rad_);
  const double high = raw(centre_rad_ + reach_rad_);
  falling_ = high < low;
  at_low_ = rising(low);
  at_high_ = rising(high);
}

double RootDistribution::raw(double v_rad) const {
  ++looks_;
  double p = 0;
  for (const Part& part : parts_) p += part.probability * part.account.probability_below(v_rad - part.least_rad);
  return p;
}

double RootDistribution::of_likeliest(double v_rad) const {
  const Part& part = parts_[likeliest_];
  return rising(part.account.probability_below(v_rad - part.least_rad));
}

/// Where the mixture is a thousand accounts that differ by next to nothing: from the likeliest one's own answer by secants. In normal
/// deviates the distribution is nearly a straight line, so that a few looks do. None where it is no such mixture.
std::optional<double> RootDistribution::by_likeliest(double probability) const {
  const double low = centre_rad_ - reach_rad_;
  const double high = centre_rad_ + reach_rad_;
  const auto start = bracketed_root([&](double v) { return of_likeliest(v) - probability; }, low, high);
  if (!start) return std::nullopt;
  const auto deviate = [](double p) { return p > 0 && p < 1 ? std::optional(normal_quantile(p)) : std::nullopt; };
  const double wanted = normal_quantile(probability);
  // The likeliest account's slope there, deviates per radian.
  double step = kFirstStep * reach_rad_;
  std::optional<double> beside;
  while (step > kLeastSpread && !(beside && std::abs(*beside - wanted) < 0.5)) {
    step *= 0.1;
    beside = deviate(of_likeliest(*start + step));
  }
  if (!beside || !(*beside != wanted)) return std::nullopt;
  double slope = (*beside - wanted) / step;
  double v = *start;
  double last_v = 0, last_off = 0;
  for (int round = 0; round < kSecants; ++round) {
    const auto here = deviate(at(v));
    if (!here) return std::nullopt;
    const double off = *here - wanted;
    if (round > 0 && v != last_v && off != last_off) slope = (off - last_off) / (v - last_v);
    last_v = v;
    last_off = off;
    v -= off / slope;
    if (!(slope > 0) || !(v > low && v < high)) return std::nullopt;
    if (std::abs(off) < kSettled) return v;
  }
  return std::nullopt;
}

std::optional<double> RootDistribution::quantile_rad(double probability) const {
  const double low = centre_rad_ - reach_rad_;
  const double high = centre_rad_ + reach_rad_;
  if (at_low_ == probability) return low;
  if (at_high_ == probability) return high;
  if (!((at_low_ - probability) * (at_high_ - probability) < 0)) return std::nullopt;
  if (const auto found = by_likeliest(probability)) return found;
  return bracketed_root([&](double v) { return at(v) - probability; }, low, high);
}

}  // namespace evenwall
