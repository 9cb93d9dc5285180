// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/turning_speed.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <numbers>

#include "evenwall/units.hpp"
#include "measure/lean_constants.hpp"
#include "measure/method_constants.hpp"
#include "numeric/harmonic_prior.hpp"
#include "numeric/harmonic_sums.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

double variance_of(const Eigen::VectorXd& values) { return (values.array() - values.mean()).square().mean(); }

/// Normal equations of the pitch at one speed, for noise of unit variance.
struct PitchEquations {
  numeric::TurnPhasors phasors;
  Eigen::MatrixXd information;
  Eigen::VectorXd pull;
};

}  // namespace

std::vector<PossibleSpeed> possible_speeds(std::optional<double> stated_rpm) {
  if (stated_rpm) return {{*stated_rpm, 1.0}};
  return {{kNominalRpm, 0.70}, {45.0, 0.20}, {78.26, 0.10}};
}

PitchCourse pitch_of(const RatioCourse& course, const std::vector<double>& weights) {
  PitchCourse pitch;
  std::optional<Complex> before;
  const double gap_s = course.hop_s * static_cast<double>(course.frame_hops);
  for (std::size_t first = 0; first + course.frame_hops <= course.driven.size(); first += course.frame_hops) {
    Complex sum = 0;
    for (std::size_t f = first; f < first + course.frame_hops; ++f) sum += weights[f] > kCleanWeight ? course.driven[f] : Complex();
    if (before && std::abs(*before) > 0 && std::abs(sum) > 0) {
      pitch.hertz.push_back(std::arg(sum * std::conj(*before)) / (2 * std::numbers::pi * gap_s));
      pitch.time_s.push_back(course.time_s(first));
    }
    before = sum;
  }
  if (pitch.hertz.empty()) return pitch;
  const double middle = numeric::median(pitch.hertz);
  std::vector<double> off;
  for (double& hz : pitch.hertz) off.push_back(std::abs(hz -= middle));
  const double most = kPitchStandsOut * std::max(kLeastPitchNoise_hz, numeric::median(off) / kMedianOverSd);
  // In a long course a few values are averaged, because wow is slow.
  const std::size_t group = std::clamp<std::size_t>(off.size() / kEnoughPitches, 1, kMostGrouped);
  PitchCourse clean;
  for (std::size_t first = 0; first + group <= off.size(); first += group) {
    double time = 0, hertz = 0, count = 0;
    for (std::size_t i = first; i < first + group; ++i) {
      if (!(off[i] < most)) continue;
      time += pitch.time_s[i];
      hertz += pitch.hertz[i];
      count += 1;
    }
    if (count > 0) clean.time_s.push_back(time / count), clean.hertz.push_back(hertz / count);
  }
  return clean;
}

std::vector<double> wow_evidence(const PitchCourse& pitch, const std::vector<double>& rpm) {
  std::vector<double> evidence(rpm.size(), 0.0);
  if (pitch.hertz.size() < kLeastPitches || rpm.size() < 2) return evidence;
  const auto n = static_cast<Eigen::Index>(pitch.hertz.size());
  const Eigen::VectorXd hertz = Eigen::Map<const Eigen::VectorXd>(pitch.hertz.data(), n);
  const double middle_s = 0.5 * (pitch.time_s.front() + pitch.time_s.back());
  std::vector<PitchEquations> equations;
  for (numeric::TurnPhasors& phasors : numeric::turn_phasors(pitch.time_s, middle_s, rpm)) {
    PitchEquations e{std::move(phasors), {}, {}};
    e.information = numeric::harmonic_information(e.phasors, Eigen::VectorXd::Ones(n), kWowHarmonics);
    e.pull = numeric::harmonic_pull(e.phasors, hertz.cast<Complex>(), kWowHarmonics).real();
    equations.push_back(std::move(e));
  }
  const double wow_hz = std::max(kLeastPitchNoise_hz, std::sqrt(variance_of(hertz)));
  // The noise comes from differences of adjacent values at first, then from the residuals of the best speed, because flutter is not white.
  double noise_variance = kLeastPitchNoise_hz * kLeastPitchNoise_hz + 0.5 * variance_of(hertz.tail(n - 1) - hertz.head(n - 1));
  for (int round = 0; round < 2; ++round) {
    std::vector<numeric::HarmonicAnswer> answers;
    for (std::size_t i = 0; i < rpm.size(); ++i) {
      answers.push_back(
          numeric::harmonic_answer(equations[i].information / noise_variance, equations[i].pull / noise_variance, {wow_hz, 0.0}));
      evidence[i] = answers[i].log_evidence;
    }
    const auto likeliest = static_cast<std::size_t>(std::max_element(evidence.begin(), evidence.end()) - evidence.begin());
    const Eigen::VectorXcd wow = numeric::harmonic_values(equations[likeliest].phasors, answers[likeliest].coefficients.cast<Complex>());
    noise_variance = std::max(noise_variance, variance_of(hertz - wow.real()));
  }
  const double best = *std::max_element(evidence.begin(), evidence.end());
  for (double& e : evidence) e = kWowEvidence * (e - best);
  return evidence;
}

}  // namespace evenwall::internal::measure
