// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/root_distribution.hpp"

#include <algorithm>
#include <cmath>

#include "numeric/distributions.hpp"
#include "solve/account_mixture.hpp"
#include "solve/method_constants.hpp"
#include "solve/slope_doubt.hpp"

namespace evenwall::internal::solve {

CriterionAccount::CriterionAccount(CriterionKind kind, const TiltAccount& account, RootOf of, double u_zero_rad)
    : kind_(kind),
      of_(of),
      shape_(account.shape()),
      least_rad_(account.least_rad),
      scale_(account.scale),
      signal_scale_(account.signal_scale),
      joint_(account.covariance.topLeftCorner<2 + kShapeSize, 2 + kShapeSize>()),
      known_(account.known_covariance.topLeftCorner<2 + kShapeSize, 2 + kShapeSize>()),
      signal_(account.signal_covariance.topLeftCorner<kShapeSize, kShapeSize>()),
      degrees_of_freedom_(of == RootOf::kOffset ? 0 : account.degrees_of_freedom),
      all_estimated_((account.known_covariance.array() == 0).all()) {
  if (of == RootOf::kSetting) {
    joint_(0, 0) -= u_zero_rad * u_zero_rad;
    known_(0, 0) -= u_zero_rad * u_zero_rad;
  }
  joint_(0, 0) += slope_variance_excess_rad2(kind, account);
  known_(0, 0) += slope_variance_excess_rad2(kind, account);
  if (of != RootOf::kOffset) return;
  joint_.setZero();
  joint_.bottomRightCorner<kShapeSize, kShapeSize>() = signal_;
  joint_(0, 0) = slope_variance_rad2(kind, account);
  known_ = joint_;
}

CriterionAccount::Covariance CriterionAccount::of_psi(const Joint& joint, double psi_rad) const {
  const double v = of_ == RootOf::kSetting ? (psi_rad / signal_scale_ + least_rad_) / scale_ : 0.0;
  Covariance c;
  c.bottomRightCorner<kShapeSize, kShapeSize>() = joint.bottomRightCorner<kShapeSize, kShapeSize>();
  c(0, 0) = signal_scale_ * signal_scale_ * (joint(0, 0) - 2 * v * joint(0, 1) + v * v * joint(1, 1));
  c.block<1, kShapeSize>(0, 1) = signal_scale_ * (v * joint.block<1, kShapeSize>(1, 2) - joint.block<1, kShapeSize>(0, 2));
  c.block<kShapeSize, 1>(1, 0) = c.block<1, kShapeSize>(0, 1).transpose();
  return c;
}

double CriterionAccount::effective_degrees_of_freedom(const Slope& slope, double psi_rad) const {
  if (!(degrees_of_freedom_ > 0)) return 0;
  if (all_estimated_) return degrees_of_freedom_;
  const double all = slope.dot(of_psi(joint_, psi_rad) * slope);
  const double estimated = all - slope.dot(of_psi(known_, psi_rad) * slope);
  if (!(estimated > 1e-6 * all)) return 0;
  return degrees_of_freedom_ * (all / estimated) * (all / estimated);
}

double CriterionAccount::deviate(const CriterionAt& here, double psi_rad) const {
  double variance = here.slope.dot(of_psi(joint_, psi_rad) * here.slope);
  if (kind_ != CriterionKind::kLeast) {
    // A scatter about the log that is small by chance must not make the shear seem better known than by the signal alone.
    const Eigen::Matrix<double, kShapeSize, 1> s = here.slope.tail<kShapeSize>();
    variance = std::max(variance, s.dot(signal_ * s));
  }
  return here.value / std::sqrt(std::max(variance, kLeastSpread * kLeastSpread));
}

double CriterionAccount::deviate(double psi_rad) const { return deviate(criterion_at(kind_, psi_rad, shape_), psi_rad); }

bool CriterionAccount::falls() const { return criterion_at(kind_, 0, shape_).slope[0] < 0; }

double CriterionAccount::probability_below(double psi_rad) const {
  const CriterionAt here = criterion_at(kind_, psi_rad, shape_);
  const double z = deviate(here, psi_rad);
  const double nu = effective_degrees_of_freedom(here.slope, psi_rad);
  return nu > 0 ? numeric::student_cdf(z, nu) : numeric::normal_cdf(z);
}

RootDistribution::RootDistribution(CriterionKind kind, const TiltFit& fit, RootOf of) {
  double mean_scale = 0;
  const bool is_long = fit.accounts.size() > kManyAccounts;
  const std::vector<TiltAccount> fewer = is_long ? condensed(fit.accounts) : std::vector<TiltAccount>();
  for (const TiltAccount& a : is_long ? fewer : fit.accounts) {
    const double scale = of == RootOf::kSetting ? a.scale : 1.0;
    centre_rad_ += of == RootOf::kOffset ? 0.0 : a.probability * a.least_rad / scale;
    mean_scale += a.probability * scale;
    if (a.probability < kLeastProbability) continue;
    parts_.push_back(
        {a.probability, of == RootOf::kOffset ? 0.0 : a.least_rad, scale, a.signal_scale, CriterionAccount(kind, a, of, fit.u_zero_rad)});
    if (a.probability > parts_[likeliest_].probability) likeliest_ = parts_.size() - 1;
  }
  reach_rad_ =
      radians(fit.gauge == GaugeKnowledge::kEstimated || fit.gauge == GaugeKnowledge::kUnderstated ? kReachEstimated_deg : kReach_deg);
  reach_rad_ /= std::abs(mean_scale);
  falling_ = parts_[likeliest_].account.falls();
  low_rad_ = end_rad(-1);
  high_rad_ = end_rad(1);
  at_low_ = at(low_rad_);
  at_high_ = at(high_rad_);
}

double RootDistribution::end_rad(double direction) const {
  const Part& part = parts_[likeliest_];
  const double limit = centre_rad_ + direction * reach_rad_;
  const auto beside = [&](double v, double by_deg) {
    const double next = v + direction * radians(by_deg);
    return direction * (next - limit) < 0 ? next : limit;
  };
  const auto deviate = [&](double v) {
    return (falling_ != (part.scale < 0) ? -direction : direction) * part.account.deviate(part.psi_rad(v));
  };
  double end = centre_rad_;
  for (double next = beside(end, kReachLook_deg); end != limit && deviate(next) > deviate(end); next = beside(end, kReachLook_deg))
    end = next;
  const auto tail = [&](double v) { return direction < 0 ? at(v) : 1 - at(v); };
  double here = tail(end);
  while (end != limit && here > kThinTail) {
    const double next = beside(end, kReachWiden_deg), there = tail(next);
    if (!(there < here)) break;
    end = next;
    here = there;
  }
  return end;
}

double RootDistribution::raw(double v_rad) const {
  ++looks_;
  double p = 0;
  for (const Part& part : parts_) {
    const double below = part.account.probability_below(part.psi_rad(v_rad));
    p += part.probability * (part.scale < 0 ? 1 - below : below);
  }
  return p;
}

double RootDistribution::of_likeliest(double v_rad) const {
  const Part& part = parts_[likeliest_];
  const double below = part.account.probability_below(part.psi_rad(v_rad));
  return rising(part.scale < 0 ? 1 - below : below);
}

/// For mixtures of many (a thousand) accounts that hardly differ: secants from the likeliest account's own answer. In normal deviates the
/// distribution is then nearly a straight line, so a few evaluations suffice. Empty for other mixtures.
std::optional<double> RootDistribution::by_likeliest(double probability) const {
  const auto start = numeric::bracketed_root([&](double v) { return of_likeliest(v) - probability; }, low_rad_, high_rad_);
  if (!start) return std::nullopt;
  const auto deviate = [](double p) { return p > 0 && p < 1 ? std::optional(numeric::normal_quantile(p)) : std::nullopt; };
  const double wanted = numeric::normal_quantile(probability);
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
    if (!(slope > 0) || !(v > low_rad_ && v < high_rad_)) return std::nullopt;
    if (std::abs(off) < kSettled) return v;
  }
  return std::nullopt;
}

std::optional<double> RootDistribution::quantile_rad(double probability) const {
  if (at_low_ == probability) return low_rad_;
  if (at_high_ == probability) return high_rad_;
  if (!((at_low_ - probability) * (at_high_ - probability) < 0)) return std::nullopt;
  if (const auto found = by_likeliest(probability)) return found;
  return numeric::bracketed_root([&](double v) { return at(v) - probability; }, low_rad_, high_rad_);
}

}  // namespace evenwall::internal::solve
