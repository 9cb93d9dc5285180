// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/uncertainty.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <string_view>

#include "numeric/linear_algebra.hpp"
#include "solve/electronics.hpp"
#include "solve/method_constants.hpp"
#include "solve/signal_scale.hpp"
#include "solve/signal_scale_constants.hpp"
#include "solve/slope_doubt.hpp"

namespace evenwall::internal::solve {
namespace {

constexpr std::array<std::string_view, 7> kLasting{kGaugeZero, kRecord, kElectronics, kSlopes, kLean, kInThirdOctave, kSharedBetween};

struct Variant {
  GainPriors gains;
  GaugePriors gauge;
};

/// Variance with some causes removed, no step logged wrong, and the gauge's scatter as found.
double variance_of(CriterionKind kind, double tilt_deg, const JointFit& joint, const Variant& variant) {
  auto observations = joint.observations.fitted;
  if (variant.gauge.u_deg == kPerfectGauge_deg) {
    for (Observation& o : observations) o.gauge_u.reset();
  }
  // The signal's part does not depend on the gauge.
  const bool same_signal = !joint.sizes_only && variant.gains.u_ln_cut_ratio == joint.gains.u_ln_cut_ratio;
  return linear_variance_deg2(kind, tilt_deg,
                              same_signal ? account_of_signal(observations, joint.signal, variant.gauge, joint)
                                          : account_as_stated(observations, variant.gains, variant.gauge, joint));
}

double offset_u_deg(CriterionKind kind, double tilt_deg, const JointFit& joint, const OffsetDoubt& doubt) {
  TiltAccount account = joint.tilt.likeliest();
  const double with = linear_variance_deg2(kind, tilt_deg, account);
  add_offset_doubt(doubt, account);  // added a second time: the difference is its share
  return std::sqrt(std::max(0.0, linear_variance_deg2(kind, tilt_deg, account) - with));
}

/// Variance of the criterion's distance from least crosstalk, rad²: that of the response, without the log.
double offset_variance_rad2(CriterionKind kind, double psi_rad, const TiltAccount& account) {
  const auto slope = criterion_slope(kind, psi_rad, account.shape());
  const Eigen::VectorXd by_shape = slope.tail<kShapeSize>() / slope[0];
  return numeric::quadratic_form(account.signal_covariance.topLeftCorner<kShapeSize, kShapeSize>(), by_shape) +
         slope_variance_rad2(kind, account);
}

}  // namespace

double shared_part_of_offset(CriterionKind kind, double tilt_deg, const JointFit& joint) {
  const TiltAccount& all = joint.tilt.likeliest();
  const double psi_rad = all.psi_rad(radians(tilt_deg));
  const double with = offset_variance_rad2(kind, psi_rad, all);
  TiltAccount own = all;
  own.slope_shift_rad = 0;
  const std::vector<Observation> observations = without_slopes(joint.observations.fitted);
  const bool same_signal = !joint.sizes_only && !(joint.slope_u > 0);
  own.signal_covariance = (same_signal ? account_of_signal(observations, joint.signal, joint.gauge, joint)
                                       : account_as_stated(observations, joint.gains, joint.gauge, joint))
                              .signal_covariance;
  const double without = offset_variance_rad2(kind, psi_rad, own);
  return with > 0 ? std::clamp(1 - without / with, 0.0, 1.0) : 0.0;
}

bool is_lasting(const UncertaintyTerm& term) {
  return std::find(std::begin(kLasting), std::end(kLasting), term.source) != std::end(kLasting);
}

double lasting_u_deg(const std::vector<UncertaintyTerm>& terms, bool without_gauge) {
  double sum = 0;
  for (const UncertaintyTerm& term : terms) {
    if (is_lasting(term) && !(without_gauge && term.source == kGaugeZero)) sum += term.u_deg * term.u_deg;
  }
  return std::sqrt(sum);
}

double linear_variance_deg2(CriterionKind kind, double tilt_deg, const TiltAccount& account) {
  const auto slope = criterion_slope(kind, account.psi_rad(radians(tilt_deg)), account.shape());
  Eigen::VectorXd by_all = Eigen::VectorXd::Zero(2 + kCommonSize);
  by_all[0] = -slope[0];
  by_all.segment<kShapeSize>(2) = slope.tail<kShapeSize>();
  const double variance =
      numeric::quadratic_form(account.covariance, by_all) / (slope[0] * slope[0]) + slope_variance_excess_rad2(kind, account);
  return variance / (kRadPerDeg * kRadPerDeg);
}

std::vector<UncertaintyTerm> uncertainty_budget(CriterionKind kind, const CriterionTilt& tilt, const JointFit& joint) {
  Variant variant{joint.gains, joint.gauge};
  variant.gauge.u_zero_deg = variant.gauge.u_record_deg = 0;
  variant.gauge.signal_scales.clear();  // the slopes have a term of their own
  const double gauge_deg = degrees(joint.tilt.likeliest().gauge_u_rad);
  variant.gauge.u_deg = gauge_deg;
  const bool from_scatter = joint.tilt.gauge == GaugeKnowledge::kEstimated || joint.tilt.gauge == GaugeKnowledge::kUnderstated;
  const OptionalNumber scatter_nu =
      joint.tilt.likeliest().degrees_of_freedom > 0 ? OptionalNumber(joint.tilt.likeliest().degrees_of_freedom) : std::nullopt;
  const auto now = [&] { return variance_of(kind, tilt.tilt_deg, joint, variant); };

  std::vector<UncertaintyTerm> terms;
  double before = now();
  const auto take = [&](const char* source, OptionalNumber nu, bool common) {
    const double after = std::min(before, now());
    terms.push_back({source, std::sqrt(before - after), nu, common});
    before = after;
  };
  if (!joint.counts_from) {
    variant.gauge.u_scale = kPerfectScale_u;
    take("gauge scale", std::nullopt, true);
    variant.gauge.u_deg = kPerfectGauge_deg;
    take("gauge", from_scatter ? scatter_nu : std::nullopt, false);
  }
  variant.gains.u_ln_cut_ratio = kPerfectCut_neper;
  take("gain ratio and cut level", std::nullopt, true);
  terms.push_back({"signal scatter", std::sqrt(before), std::nullopt, false});
  if (!joint.counts_from) terms.push_back({kGaugeZero, joint.gauge.u_zero_deg, std::nullopt, true});
  terms.push_back({kRecord, joint.gauge.u_record_deg, std::nullopt, true});

  const OffsetDoubt electronics = joint.electronics ? electronics_doubt(*joint.electronics) : OffsetDoubt{};
  terms.push_back({kElectronics, offset_u_deg(kind, tilt.tilt_deg, joint, electronics), std::nullopt, true});
  const SignalScale scale_of_signal = overall_scale(joint.tilt.accounts);
  if (joint.slope_u > 0 || scale_of_signal.u > kScaleWorthTelling) {
    terms.push_back(
        {kSlopes, degrees(slope_doubt_rad(kind, joint.slope_u, scale_of_signal.u, joint.tilt.likeliest())), std::nullopt, true});
  }
  const OffsetDoubt groove = groove_doubt(joint.observations.fitted);
  if (groove.right_into_left + groove.left_into_right > 0) {
    terms.push_back({kLean, offset_u_deg(kind, tilt.tilt_deg, joint, groove), std::nullopt, true});
  }
  if (joint.third_octave.right_into_left + joint.third_octave.left_into_right > 0) {
    terms.push_back({kInThirdOctave, offset_u_deg(kind, tilt.tilt_deg, joint, joint.third_octave), std::nullopt, true});
  }

  // The interval is not linear (mixtures, Student's t, curved criteria). The shares are kept, and the sum is made the stated uncertainty.
  double sum = 0;
  for (const UncertaintyTerm& t : terms) sum += t.u_deg * t.u_deg;
  const double scale = sum > 0 ? tilt.u_deg / std::sqrt(sum) : 0.0;
  for (UncertaintyTerm& t : terms) t.u_deg *= scale;
  return terms;
}

}  // namespace evenwall::internal::solve
