// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/lean_fit.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

#include "evenwall/units.hpp"
#include "measure/lean_constants.hpp"
#include "measure/lean_equations.hpp"
#include "measure/method_constants.hpp"
#include "measure/noise_colour.hpp"
#include "numeric/counts.hpp"
#include "numeric/revolution.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

/// Fits one course, step by step.
class LeanFitting {
 public:
  LeanFitting(const RatioCourse& course, const std::vector<PossibleSpeed>& speeds)
      : course_(course),
        speeds_(speeds),
        middle_s_(course.time_s(0) + 0.5 * course.hop_s * static_cast<double>(course.ratio.size() - 1)),
        weights_(click_weights(course, 1.0)),
        burst_(course.ratio.size(), 1.0),
        overlap_(course.frame_hops == 4 ? kOverlapOfFour : kOverlapOfTwo),
        noise_(noise_of(course.ratio, weights_, course.frame_hops)) {
    std::vector<double> sizes;
    for (std::size_t f = 0; f < course.size.size(); ++f) {
      if (course.heard[f] > 0) sizes.push_back(course.size[f] * course.size[f]);
    }
    usual_power_ = numeric::median(std::move(sizes));
    for (const PossibleSpeed& s : speeds) rpm_.push_back(s.rpm);
  }
  LeanFit run();

 private:
  [[nodiscard]] std::vector<double> all_weights() const;
  void solve_at_all_speeds(const Blocks& blocks, const PitchCourse& pitch, bool last);
  bool find_direction(const Blocks& blocks);
  void look_at_residuals(const Blocks& blocks, const std::vector<double>& weights);
  void doubt_bursts(const std::vector<Complex>& residual, const std::vector<double>& weights);
  [[nodiscard]] double block_variance() const { return noise_ * noise_ * overlap_ * colour_.noise; }
  [[nodiscard]] BlockScatter scatter_of(const SpeedAnswer& answer, const Blocks& blocks, const Eigen::VectorXd& residual) const;
  [[nodiscard]] LeanFit result() const;
  /// Whether the course covers more than kRefinedTurns turns of the record.
  [[nodiscard]] bool long_enough() const {
    return course_.hop_s * static_cast<double>(course_.ratio.size() - 1) * speeds_.front().rpm / 60.0 > kRefinedTurns;
  }

  const RatioCourse& course_;
  const std::vector<PossibleSpeed>& speeds_;
  double middle_s_;
  std::vector<double> weights_, burst_;
  double overlap_;  // variance of a mean of overlapping frames, divided by that of independent ones
  double noise_;    // standard deviation of the real or imaginary part of one frame
  double usual_power_ = 0;
  std::vector<double> rpm_;  // refined value of each possible speed
  Complex turn_ = 1.0;       // factor that brings the lean onto the real axis
  bool seen_ = false;        // whether the lean's direction was found
  bool looked_ = false;      // whether the speeds were refined
  NoiseColour colour_;
  double solved_with_ = 1;    // colour_.noise with which the answers were computed
  double flat_variance_ = 0;  // variance of the constant along the lean that white noise causes
  std::vector<SpeedAnswer> along_;
  AcrossAnswer across_;
  std::size_t best_ = 0;  // index of the most probable speed
  Equations best_equations_;
};

std::vector<double> LeanFitting::all_weights() const {
  std::vector<double> all(weights_.size());
  double sum = 0, squares = 0;
  for (std::size_t f = 0; f < all.size(); ++f) {
    const double robust = weights_[f] * burst_[f];
    const double power = course_.size[f] * course_.size[f] / usual_power_;
    all[f] = robust * power;
    sum += all[f];
    squares += robust * all[f];
  }
  // The variance of a weighted mean is Σw²/(Σw)², but the fit takes 1/Σw. The weights are scaled accordingly: all 0.9 is as good as all 1.
  if (squares > 0) {
    for (double& w : all) w *= sum / squares;
  }
  return all;
}

void LeanFitting::solve_at_all_speeds(const Blocks& blocks, const PitchCourse& pitch, bool last) {
  const double turning_s = course_.hop_s * static_cast<double>(course_.ratio.size() - 1);
  // If no lean is seen over several turns, its speed does not matter, and the first possible one is used.
  const std::size_t speeds = !seen_ && long_enough() ? 1 : speeds_.size();
  for (std::size_t i = 0; i < speeds; ++i) {
    const bool enough_turns = turning_s * speeds_[i].rpm / 60.0 > kRefinedTurns;
    if (enough_turns && seen_ && !looked_) {
      const Blocks few = grouped(blocks, std::clamp<std::size_t>(blocks.time_s.size() / kSpeedBlocks, 1, kMostGrouped));
      rpm_[i] = found_rpm(few, middle_s_, speeds_[i].rpm, block_variance(), pitch);
    }
  }
  const std::vector<double> wow = speeds > 1 ? wow_evidence(pitch, rpm_) : std::vector<double>(1, 0.0);
  along_.clear();
  best_ = 0;
  for (std::size_t i = 0; i < speeds; ++i) {
    Equations e = equations_of(blocks, numeric::turn_phasors(blocks.time_s, middle_s_, rpm_[i]), rpm_[i], kLeanHarmonics);
    along_.push_back(answer_along(e.information / block_variance(), e.pull.real() / block_variance()));
    along_.back().log_evidence += std::log(speeds_[i].share) + wow[i];
    if (last) {
      const TurnDoubt doubt = turn_doubt(e, blocks, middle_s_, along_.back(), block_variance(), rpm_[i] / speeds_[i].rpm - 1);
      along_.back().mean += doubt.mean;
      along_.back().noise_variance += std::max(0.0, doubt.noise_variance);
      along_.back().groove_variance += std::max(0.0, doubt.groove_variance);
    }
    if (i == 0 || along_[i].log_evidence > along_[best_].log_evidence) best_ = i, best_equations_ = std::move(e);
  }
  looked_ = true;
  solved_with_ = colour_.noise;
  across_ = answer_across(best_equations_.information / block_variance(), best_equations_.pull.imag() / block_variance(),
                          along_[best_].prior, seen_);
}

/// Takes the long axis of the ratio's own wander as the lean's direction if the wander exceeds the noise. Returns false otherwise.
bool LeanFitting::find_direction(const Blocks& blocks) {
  const double all = blocks.weight.sum();
  const Eigen::VectorXcd weighted = blocks.weight.cast<Complex>().cwiseProduct(blocks.ratio);
  const Complex mean = weighted.sum() / all;
  Complex square = 0;
  for (Eigen::Index b = 0; b < blocks.ratio.size(); ++b)
    square += blocks.weight[b] * (blocks.ratio[b] - mean) * (blocks.ratio[b] - mean) / all;
  const double least = std::pow(radians(kLeanSeen_deg), 2);
  const double noise = kLeanSeenNoise * noise_ * noise_ / std::sqrt(0.5 * static_cast<double>(blocks.ratio.size()));
  if (std::abs(square) <= std::max(least, noise)) return false;
  turn_ = std::polar(1.0, -0.5 * std::arg(square));
  seen_ = true;
  return true;
}

void LeanFitting::doubt_bursts(const std::vector<Complex>& residual, const std::vector<double>& weights) {
  const std::vector<double> around = running_mean(weights_, course_.places(kBurstAround));
  if (*std::min_element(around.begin(), around.end()) >= kBurstCrackle) {
    std::fill(burst_.begin(), burst_.end(), 1.0);
    return;
  }
  const std::vector<Complex> none(residual.size());
  const std::vector<Complex> base = smoothed(residual, weights, course_.places(kBurstSmoothed), none);
  std::array<double, 2> spread{};
  for (const std::size_t part : {0U, 1U}) {
    std::vector<double> sizes;
    for (std::size_t f = 0; f < base.size(); ++f) {
      if (weights[f] > kCleanWeight) sizes.push_back(std::abs(part == 0 ? base[f].real() : base[f].imag()));
    }
    spread[part] = std::max(kBurstLeastSpread * noise_, sizes.empty() ? 0.0 : numeric::median(std::move(sizes)) / kMedianOverSd);
  }
  for (std::size_t f = 0; f < base.size(); ++f) {
    const double off = std::hypot(base[f].real() / spread[0], base[f].imag() / spread[1]);
    burst_[f] = around[f] < kBurstCrackle ? std::clamp((kBurstOver - off) / (kBurstOver - kBurstFrom), 0.0, 1.0) : 1.0;
  }
}

BlockScatter LeanFitting::scatter_of(const SpeedAnswer& answer, const Blocks& blocks, const Eigen::VectorXd& residual) const {
  const double variance = block_variance();
  const Eigen::MatrixXd covariance = numeric::harmonic_covariance(best_equations_.information / variance, answer.prior);
  const Eigen::VectorXd weight_on_constant = numeric::harmonic_values(best_equations_.phasors, covariance.col(0).cast<Complex>()).real();
  const Eigen::VectorXd influence = weight_on_constant.cwiseProduct(blocks.weight).cwiseProduct(residual) / variance;
  // A longer passage has longer blocks, because its slow changes are correlated for longer.
  const double row_s = course_.hop_s * static_cast<double>(course_.frame_hops);
  const auto rows = static_cast<Eigen::Index>(
      numeric::at_least_one(std::max(numeric::kInfluenceBlock_s / row_s, static_cast<double>(influence.size()) / kScatterBlocks)));
  double squares = 0, count = 0;
  for (Eigen::Index first = 0; first < influence.size(); first += rows) {
    const double sum = influence.segment(first, std::min(rows, influence.size() - first)).sum();
    squares += sum * sum;
    count += 1;
  }
  const double used = (covariance.cwiseProduct(best_equations_.information)).sum() / variance;  // trace of their product
  const double left = std::max(0.0, count - used);
  return {squares * count / std::max(left, 1.0) / (answer.noise_at_best / colour_.noise), left};
}

void LeanFitting::look_at_residuals(const Blocks& blocks, const std::vector<double>& weights) {
  Eigen::VectorXcd coefficients(along_[best_].coefficients.size());
  coefficients.real() = along_[best_].coefficients;
  coefficients.imag() = across_.coefficients;
  const Eigen::VectorXcd fit = numeric::harmonic_values(
      numeric::even_turn_phasors(course_.time_s(0) - middle_s_, course_.hop_s, course_.ratio.size(), best_equations_.rpm), coefficients);
  std::vector<Complex> residual(course_.ratio.size());
  for (std::size_t f = 0; f < residual.size(); ++f) residual[f] = course_.ratio[f] * turn_ - fit[static_cast<Eigen::Index>(f)];
  noise_ = noise_of(residual, weights_, course_.frame_hops);
  doubt_bursts(residual, weights);
  const Eigen::VectorXcd rest = blocks.ratio - numeric::harmonic_values(best_equations_.phasors, coefficients);
  const double seconds = course_.hop_s * static_cast<double>(course_.ratio.size());
  const double slow = radians(kSlowChange_deg) * radians(kSlowChange_deg) * std::min(1.0, kSlowFor_s / seconds);
  flat_variance_ = along_[best_].noise_at_best / colour_.noise;
  const BlockScatter along = scatter_of(along_[best_], blocks, rest.real());
  const BlockScatter across = scatter_of(across_, blocks, rest.imag());
  colour_ = noise_colour(along, across, slow / flat_variance_);
}

LeanFit LeanFitting::result() const {
  LeanFit fit;
  double best = along_[best_].log_evidence, all = 0, mean = 0, noise = 0, groove = 0;
  for (const SpeedAnswer& a : along_) {
    const double share = std::exp(a.log_evidence - best);
    all += share;
    mean += share * a.mean;
    noise += share * a.noise_variance;
  }
  mean /= all;
  noise /= all;
  for (const SpeedAnswer& a : along_) {
    groove += std::exp(a.log_evidence - best) / all * (a.groove_variance + (a.mean - mean) * (a.mean - mean));
  }
  noise *= colour_.noise / solved_with_;
  // The excess of one axis over the other comes from slow changes. It is attributed to the record, so repetitions do not average it.
  groove += colour_.along * flat_variance_;
  fit.value = Complex(mean, across_.mean) / turn_;
  double noise_across = across_.noise_variance * colour_.noise / solved_with_;
  double groove_across = across_.groove_variance + colour_.across * flat_variance_;
  // Computed samples without any noise have no uncertainty.
  if (noise_ <= kLeastRatioNoise) noise = groove = noise_across = groove_across = 0;
  Eigen::Matrix2d back;
  back << turn_.real(), turn_.imag(), -turn_.imag(), turn_.real();
  fit.noise = back * Eigen::Vector2d(noise, noise_across).asDiagonal() * back.transpose();
  fit.groove = back * Eigen::Vector2d(groove, groove_across).asDiagonal() * back.transpose();
  for (const Eigen::Index k : {Eigen::Index{1}, Eigen::Index{2}}) {
    fit.once_per_revolution[static_cast<std::size_t>(k - 1)] = Complex(along_[best_].coefficients[k], across_.coefficients[k]) / turn_;
  }
  fit.rpm = best_equations_.rpm;
  fit.rpm_share = 1 / all;
  fit.residual_scale = noise_;
  double rejected = 0, heard = 0;
  for (std::size_t f = 0; f < weights_.size(); ++f) {
    heard += course_.heard[f];
    if (course_.heard[f] > 0 && weights_[f] * burst_[f] < 0.5) rejected += 1;
  }
  fit.rejected_fraction = rejected / heard;
  return fit;
}

LeanFit LeanFitting::run() {
  PitchCourse pitch;
  bool directed = false;
  for (int pass = 0; pass < kLeanPasses; ++pass) {
    const std::vector<double> weights = all_weights();
    Blocks blocks = blocks_of(course_, weights, turn_);
    if (!directed && find_direction(blocks)) blocks = blocks_of(course_, weights, turn_);
    directed = true;
    if (pass == 0 && (seen_ || !long_enough())) pitch = pitch_of(course_, weights_);
    solve_at_all_speeds(blocks, pitch, pass + 1 == kLeanPasses);
    look_at_residuals(blocks, weights);
    if (!seen_ && long_enough() && colour_.noise < kNearlyWhite) break;  // the second pass would give the same result
  }
  return result();
}

}  // namespace

LeanFit fit_lean(const RatioCourse& course, const std::vector<PossibleSpeed>& speeds) {
  assert(course.ratio.size() >= kLeastFrames && !speeds.empty());
  return LeanFitting(course, speeds).run();
}

}  // namespace evenwall::internal::measure
