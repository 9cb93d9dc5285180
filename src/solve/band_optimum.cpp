// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/band_optimum.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>

#include "numeric/a_weighting.hpp"
#include "numeric/distributions.hpp"
#include "solve/band_constants.hpp"
#include "solve/electronics.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

using Covariance = Eigen::Matrix<double, 1 + kShapeSize, 1 + kShapeSize>;

/// Weights v of the recordings of one fit that are fitted at both frequencies, as a vector over its rows. They add up to 1.
struct Paired {
  Eigen::VectorXd one, other;
  std::vector<std::pair<Eigen::Index, Eigen::Index>> rows{};
};

/// Recordings with a sharper tilt at both frequencies count more. Without logged tilts all counts from one recording, so it counts alone.
std::optional<Paired> paired(const JointFit& one, const JointFit& other) {
  const auto& a = one.observations.fitted;
  const auto& b = other.observations.fitted;
  Paired weights{Eigen::VectorXd::Zero(one.signal.psi_rad.size()), Eigen::VectorXd::Zero(other.signal.psi_rad.size())};
  std::size_t most = 0;
  for (const Observation& o : b) most = std::max(most, o.step + 1);
  std::vector<Eigen::Index> place(most, -1);  // of each step in the other fit
  for (std::size_t k = 0; k < b.size(); ++k) place[b[k].step] = static_cast<Eigen::Index>(k);
  double sum = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    if (a[i].step >= most || place[a[i].step] < 0 || (one.counts_from && *one.counts_from != i)) continue;
    const auto row = static_cast<Eigen::Index>(i);
    const Eigen::Index at = place[a[i].step];
    const double v = 1 / (one.signal.covariance.own()[row] + other.signal.covariance.own()[at] + kBandTilt_u_rad * kBandTilt_u_rad);
    weights.one[row] = weights.other[at] = v;
    weights.rows.emplace_back(row, at);
    sum += v;
  }
  if (!(sum > 0)) return std::nullopt;
  weights.one /= sum;
  weights.other /= sum;
  return weights;
}

/// Covariance of (φ0, shape) by an offset of the crosstalk.
Covariance offset_covariance(const OffsetDoubt& doubt, const Eigen::VectorXd& common) {
  TiltAccount none;
  none.common = common;
  none.covariance = none.known_covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  none.signal_covariance = Eigen::MatrixXd::Zero(kCommonSize, kCommonSize);
  add_offset_doubt(doubt, none);
  Covariance covariance;
  covariance << none.covariance(0, 0), none.covariance.block<1, kShapeSize>(0, 2), none.covariance.block<kShapeSize, 1>(2, 0),
      none.covariance.block<kShapeSize, kShapeSize>(2, 2);
  return covariance;
}

/// Covariance of (−Σ v ψ, shape), which is that of (φ0, shape) for known true tilts.
Covariance signal_covariance(const SignalFit& signal, const Eigen::VectorXd& weights) {
  const Eigen::Index n = signal.psi_rad.size();
  const auto& own = signal.covariance.own();
  const auto& root = signal.covariance.root();
  Eigen::MatrixXd causes(1 + kShapeSize, root.cols());
  causes.row(0) = -weights.transpose() * root.topRows(n);
  causes.bottomRows(kShapeSize) = root.middleRows(n, kShapeSize);
  Covariance covariance = causes * causes.transpose();
  covariance(0, 0) += weights.cwiseAbs2().dot(own.head(n));
  for (Eigen::Index k = 0; k < kShapeSize; ++k) covariance(1 + k, 1 + k) += own[n + k];
  return covariance;
}

double common_u_rad(const JointFit& joint) {
  const auto variance = [&](const OffsetDoubt& doubt) { return offset_covariance(doubt, joint.signal.common)(0, 0); };
  const double of_electronics = joint.electronics ? variance(electronics_doubt(*joint.electronics)) : 0;
  return std::sqrt(of_electronics + variance(groove_doubt(joint.observations.fitted)));
}

/// Whether the tilts at the other frequency clearly run against the session's own. The phase between the channels is then wrong there.
bool runs_against(const Eigen::VectorXd& own, const Eigen::VectorXd& other, const Paired& weights) {
  const double own_mean = weights.one.dot(own), other_mean = weights.other.dot(other);
  double together = 0, alone = 0;
  for (const auto& [i, k] : weights.rows) {
    together += (own[i] - own_mean) * (other[k] - other_mean);
    alone += (own[i] - own_mean) * (own[i] - own_mean);
  }
  return together < -kTurnedAgainst * alone;
}

/// Value and slope of a criterion's sum over the band.
struct Sum {
  double value = 0, slope = 0;
};
Sum sum_at(CriterionKind kind, double x, const BandFit& band) {
  Sum sum;
  for (const BandPoint& p : band.points) {
    const CriterionAt at = criterion_at(kind, x - p.offset_rad, p.shape);
    sum.value += p.weight * (at.value + (kind == CriterionKind::kEqual ? 0.25 * p.power_difference : 0.0));
    sum.slope += p.weight * at.slope[0];
  }
  return sum;
}

/// The root nearest to `from`, if any lies within the reach.
std::optional<double> nearest_root(CriterionKind kind, double from, const BandFit& band) {
  const double step = radians(kReachLook_deg);
  const auto f = [&](double x) { return sum_at(kind, x, band).value; };
  for (int i = 0; i * kReachLook_deg < kReach_deg; ++i) {
    const auto up = numeric::bracketed_root(f, from + i * step, from + (i + 1) * step);
    const auto down = numeric::bracketed_root(f, from - (i + 1) * step, from - i * step);
    if (up && down) return std::abs(*up - from) < std::abs(*down - from) ? up : down;
    if (up || down) return up ? up : down;
  }
  return std::nullopt;
}

/// Whether a sweep or noise was also read at the frequency of the answer, beside the third octaves. It would count twice there.
bool is_beside_third_octaves(const std::vector<JointFit>& fits, std::size_t answered) {
  const auto is_centre = [](const JointFit& at) {
    const double index = 10 * std::log10(at.observations.frequency_hz / 1000);
    return std::abs(index - std::round(index)) < kCentreOff;
  };
  std::size_t centres = 0;
  for (const JointFit& at : fits) centres += is_centre(at) ? 1 : 0;
  return !is_centre(fits[answered]) && centres > 1 && centres + 1 == fits.size();
}

/// Sets the power that the means of the third octaves do not have: the mean over the recordings, with its standard uncertainty by their
/// scatter.
void set_power(const JointFit& at, BandPoint& point) {
  const auto n = static_cast<double>(at.observations.fitted.size());
  double sum = 0, sum2 = 0;
  for (const Observation& o : at.observations.fitted) {
    // A ratio contains the gain ratio of the channels, or its inverse.
    const double gain2 = std::exp(2 * ln_gain_of(at.signal.common, o.leads_swapped).real());
    const double rl = o.right_into_left_in_third_octave * o.right_into_left_in_third_octave / gain2;
    const double lr = o.left_into_right_in_third_octave * o.left_into_right_in_third_octave * gain2;
    point.power_sum += (rl + lr) / n;
    sum += rl - lr;
    sum2 += (rl - lr) * (rl - lr);
  }
  point.power_difference = sum / n;
  if (n > 1) point.u_power_difference = std::sqrt(std::max(0.0, sum2 - sum * sum / n) / (n - 1) / n);
}

}  // namespace

std::optional<BandPoint> band_point(const JointFit& own, const JointFit& at) {
  if (own.sizes_only || at.sizes_only) return std::nullopt;
  const auto weights = paired(own, at);
  if (!weights || runs_against(own.signal.psi_rad, at.signal.psi_rad, *weights)) return std::nullopt;
  BandPoint point;
  point.frequency_hz = at.observations.frequency_hz;
  point.offset_rad = weights->one.dot(own.signal.psi_rad) - weights->other.dot(at.signal.psi_rad);
  point.shape = at.signal.shape();
  point.covariance = signal_covariance(at.signal, weights->other) + offset_covariance(at.third_octave, at.signal.common);
  set_power(at, point);
  point.common_u_rad = common_u_rad(at);
  return point;
}

std::optional<BandFit> fit_band(const std::vector<JointFit>& fits, std::size_t answered, const SolveOptions& options) {
  assert(answered < fits.size());
  const JointFit& own = fits[answered];
  if (own.sizes_only) return std::nullopt;
  BandFit band;
  const bool is_added = is_beside_third_octaves(fits, answered);
  for (const JointFit& at : fits) {
    const double f = at.observations.frequency_hz;
    if (is_added && &at == &own) continue;
    if (options.band && (f < options.band->from_hz || f > options.band->to_hz)) continue;
    auto point = band_point(own, at);
    if (!point) continue;
    if (options.weighting == Weighting::kA) point->weight = std::pow(10.0, numeric::a_weighting_db(f) / 10);
    band.points.push_back(*point);
  }
  const auto by_frequency = [](const BandPoint& a, const BandPoint& b) { return a.frequency_hz < b.frequency_hz; };
  std::sort(band.points.begin(), band.points.end(), by_frequency);
  if (band.points.size() < 2 || band.points.back().frequency_hz < kLeastBand * band.points.front().frequency_hz) return std::nullopt;
  const BandPoint itself = band_point(own, own).value();
  band.own_variance_rad2 = itself.covariance(0, 0);
  band.own_common_u_rad = itself.common_u_rad;
  return band;
}

std::optional<BandRoot> band_root(CriterionKind kind, const BandFit& band) {
  double mean = 0, weights = 0;
  for (const BandPoint& p : band.points) mean += p.weight * p.offset_rad, weights += p.weight;
  const auto least = nearest_root(CriterionKind::kLeast, mean / weights, band);
  if (!least) return std::nullopt;
  const auto root = kind == CriterionKind::kLeast ? least : nearest_root(kind, *least, band);
  if (!root) return std::nullopt;
  const double slope = sum_at(kind, *root, band).slope;
  if (slope == 0) return std::nullopt;
  BandRoot result{*root, 0, 0};
  for (const BandPoint& p : band.points) {
    Eigen::Matrix<double, 1 + kShapeSize, 1> by = -p.weight / slope * criterion_slope(kind, *root - p.offset_rad, p.shape);
    by[0] = -by[0];  // ψ = x − φ0(f)
    result.variance_rad2 += by.dot(p.covariance * by);
    if (kind == CriterionKind::kEqual) result.variance_rad2 += std::pow(0.25 * p.weight / slope * p.u_power_difference, 2);
    result.common_u_rad += std::abs(by[0]) * p.common_u_rad;
  }
  return result;
}

CriterionTilt band_tilt(const BandRoot& root, const BandFit& band, const CriterionTilt& least) {
  CriterionTilt tilt = least;
  tilt.tilt_deg += degrees(root.offset_rad);
  const double u_rad = radians(least.u_deg);
  const double other = std::max(0.0, u_rad * u_rad - band.own_variance_rad2 - band.own_common_u_rad * band.own_common_u_rad);
  tilt.u_deg = degrees(std::sqrt(other + root.variance_rad2 + root.common_u_rad * root.common_u_rad));
  const double share = least.u_deg > 0 ? tilt.u_deg / least.u_deg : 1.0;
  for (std::size_t k = 0; k < 2; ++k) tilt.interval95_deg[k] = tilt.tilt_deg + share * (least.interval95_deg[k] - least.tilt_deg);
  return tilt;
}

double u_from_single_deg(const BandRoot& root, const BandFit& band) {
  const double common = root.common_u_rad - band.own_common_u_rad;  // the same cause on both sides
  return degrees(std::sqrt(root.variance_rad2 + band.own_variance_rad2 + common * common));
}

double total_db_at(double offset_rad, const BandPoint& point) {
  const auto [rl, lr] = own_leaks(offset_rad - point.offset_rad, point.shape);
  return 10 * std::log10(std::max(0.5 * (std::norm(rl) + std::norm(lr) + point.power_sum), kLeastMagnitude * kLeastMagnitude));
}

double band_total_db(double offset_rad, const BandFit& band) {
  double sum = 0, weights = 0;
  for (const BandPoint& p : band.points) {
    sum += p.weight * std::pow(10.0, total_db_at(offset_rad, p) / 10);
    weights += p.weight;
  }
  return 10 * std::log10(sum / weights);
}

}  // namespace evenwall::internal::solve
