// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/lean_equations.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "evenwall/units.hpp"
#include "measure/lean_constants.hpp"
#include "measure/method_constants.hpp"
#include "numeric/harmonic_prior.hpp"
#include "numeric/linear_algebra.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {

Blocks blocks_of(const RatioCourse& course, const std::vector<double>& weights, Complex turn) {
  std::vector<double> times, sums;
  std::vector<Complex> ratios;
  for (std::size_t first = 0; first + course.frame_hops <= course.ratio.size(); first += course.frame_hops) {
    double weight = 0, time = 0;
    Complex ratio = 0;
    for (std::size_t f = first; f < first + course.frame_hops; ++f) {
      weight += weights[f];
      time += weights[f] * course.time_s(f);
      ratio += weights[f] * course.ratio[f];
    }
    sums.push_back(weight);
    times.push_back(weight > 0 ? time / weight : 0);
    ratios.push_back(weight > 0 ? ratio / weight * turn : Complex());
  }
  const double least = kLeastBlockWeight * numeric::median(sums);
  Blocks blocks;
  std::vector<std::size_t> kept;
  for (std::size_t b = 0; b < sums.size(); ++b) {
    if (sums[b] > least) kept.push_back(b);
  }
  blocks.weight.resize(static_cast<Eigen::Index>(kept.size()));
  blocks.ratio.resize(blocks.weight.size());
  for (std::size_t k = 0; k < kept.size(); ++k) {
    blocks.time_s.push_back(times[kept[k]]);
    blocks.weight[static_cast<Eigen::Index>(k)] = sums[kept[k]];
    blocks.ratio[static_cast<Eigen::Index>(k)] = ratios[kept[k]];
  }
  return blocks;
}

Equations equations_of(const Blocks& blocks, numeric::TurnPhasors phasors, double rpm, int harmonics) {
  Equations e{rpm, std::move(phasors), {}, {}};
  e.information = numeric::harmonic_information(e.phasors, blocks.weight, harmonics);
  e.pull = numeric::harmonic_pull(e.phasors, blocks.weight.cast<Complex>().cwiseProduct(blocks.ratio), harmonics);
  return e;
}

Blocks grouped(const Blocks& blocks, std::size_t group) {
  if (group <= 1) return blocks;
  Blocks result;
  const std::size_t count = blocks.time_s.size() / group;
  result.weight = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(count));
  result.ratio = Eigen::VectorXcd::Zero(static_cast<Eigen::Index>(count));
  for (std::size_t g = 0; g < count; ++g) {
    const auto at = static_cast<Eigen::Index>(g);
    double time = 0;
    for (std::size_t b = g * group; b < (g + 1) * group; ++b) {
      const double weight = blocks.weight[static_cast<Eigen::Index>(b)];
      result.weight[at] += weight;
      result.ratio[at] += weight * blocks.ratio[static_cast<Eigen::Index>(b)];
      time += weight * blocks.time_s[b];
    }
    result.ratio[at] /= result.weight[at];
    result.time_s.push_back(time / result.weight[at]);
  }
  return result;
}

double found_rpm(const Blocks& blocks, double middle_s, double rpm, double variance, const PitchCourse& pitch) {
  std::vector<double> tries, score;
  for (int i = 0; i < kSpeedTries; ++i) {
    tries.push_back(rpm * (1 + kMostSpeedError * (2.0 * i / (kSpeedTries - 1) - 1)));
  }
  const std::vector<double> wow = wow_evidence(pitch, tries);
  std::vector<numeric::TurnPhasors> phasors = numeric::turn_phasors(blocks.time_s, middle_s, tries);
  for (std::size_t i = 0; i < tries.size(); ++i) {
    const Equations e = equations_of(blocks, std::move(phasors[i]), tries[i], kSpeedHarmonics);
    const auto answer =
        numeric::harmonic_answer(e.information / variance, e.pull.real() / variance, {radians(kRefinedLean_deg), kWarpFall});
    const double off = (tries[i] / rpm - 1) / kUsualSpeedError;
    score.push_back(answer.log_evidence + wow[i] - 0.5 * off * off);
  }
  const auto best = static_cast<std::size_t>(std::max_element(score.begin(), score.end()) - score.begin());
  if (best == 0 || best + 1 == score.size()) return tries[best];
  const double bend = score[best - 1] - 2 * score[best] + score[best + 1];
  const double shift = bend < 0 ? 0.5 * (score[best - 1] - score[best + 1]) / bend : 0.0;
  return tries[best] + shift * (tries[1] - tries[0]);
}

TurnDoubt turn_doubt(const Equations& e, const Blocks& blocks, double middle_s, const SpeedAnswer& answer, double variance, double off) {
  // Derivatives of the fitted course by the relative speed (real part) and by the growth of the lean per turn (imaginary part).
  const Eigen::Index columns = answer.coefficients.size();
  Eigen::VectorXcd of_slopes = Eigen::VectorXcd::Zero(columns);
  for (Eigen::Index k = 1; k <= kLeanHarmonics; ++k) {
    const double cosine = answer.coefficients[2 * k - 1], sine = answer.coefficients[2 * k];
    const double by_angle = 2 * std::numbers::pi * static_cast<double>(k);
    of_slopes[2 * k - 1] = {by_angle * sine, cosine};
    of_slopes[2 * k] = {-by_angle * cosine, sine};
  }
  Eigen::VectorXcd slopes = numeric::harmonic_values(e.phasors, of_slopes);
  for (Eigen::Index b = 0; b < slopes.size(); ++b) slopes[b] *= e.rpm / 60 * (blocks.time_s[static_cast<std::size_t>(b)] - middle_s);
  const Eigen::VectorXcd weighted = blocks.weight.cast<Complex>().cwiseProduct(slopes) / variance;
  const Eigen::VectorXcd shared = numeric::harmonic_pull(e.phasors, weighted, kLeanHarmonics);
  const Eigen::VectorXd by_speed = slopes.real(), by_growth = slopes.imag();
  const Eigen::VectorXd weighted_by_speed = weighted.real(), weighted_by_growth = weighted.imag();
  Eigen::MatrixXd information(columns + 2, columns + 2);
  information.topLeftCorner(columns, columns) = e.information / variance;
  information.block(0, columns, columns, 1) = shared.real();
  information.block(0, columns + 1, columns, 1) = shared.imag();
  information.bottomLeftCorner(2, columns) = information.topRightCorner(columns, 2).transpose();
  information(columns, columns) = numeric::dot(weighted_by_speed, by_speed);
  information(columns + 1, columns + 1) = numeric::dot(weighted_by_growth, by_growth);
  information(columns, columns + 1) = information(columns + 1, columns) = numeric::dot(weighted_by_speed, by_growth);
  const Eigen::VectorXd rest = blocks.ratio.real() - numeric::harmonic_values(e.phasors, answer.coefficients.cast<Complex>()).real();
  Eigen::VectorXd precision(columns + 2);
  precision << numeric::harmonic_precision(columns, answer.prior), std::pow(kUsualSpeedError, -2), std::pow(kUsualGrowth, -2);
  Eigen::VectorXd pull = Eigen::VectorXd::Zero(columns + 2);  // at the fit the harmonics' own gradient vanishes
  pull[columns] = numeric::dot(weighted_by_speed, rest);
  pull[columns + 1] = numeric::dot(weighted_by_growth, rest);
  pull[columns] -= off * precision[columns];
  Eigen::MatrixXd posterior = information;
  posterior.diagonal() += precision;
  const numeric::PositiveFactor factor(posterior);
  const Eigen::VectorXd step = factor.solve(pull);
  const Eigen::VectorXd influence = factor.solve(Eigen::VectorXd::Unit(columns + 2, 0));
  return {step[0], numeric::quadratic_form(information, influence) - answer.noise_at_best,
          numeric::dot(influence, precision.cwiseProduct(influence)) - answer.prior_at_best, step[columns]};
}

}  // namespace evenwall::internal::measure
