// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/signal_start.hpp"

#include <cmath>
#include <numbers>

#include "numeric/robust_regression.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

/// ln of the complex gain ratio to start from. Requires: the leads are connected alike in all steps.
Complex first_gain(const std::vector<Observation>& observations, const GainPriors& priors) {
  const auto n = static_cast<double>(observations.size());
  Complex mean_rl, mean_lr;
  double level = 0;
  double levels = 0;
  Complex phasor;
  for (const Observation& o : observations) {
    mean_rl += o.right_into_left / n;
    mean_lr += o.left_into_right / n;
    level += o.ln_level_ratio.value_or(0);
    levels += o.ln_level_ratio ? 1 : 0;
    if (o.interchannel_phase_rad) phasor += std::polar(1.0, *o.interchannel_phase_rad);
  }
  Complex own, cross;
  double spread = 0;
  double noise = 0;
  for (const Observation& o : observations) {
    const Complex rl = o.right_into_left - mean_rl;
    const Complex lr = o.left_into_right - mean_lr;
    own += rl * rl;
    cross += rl * lr;
    spread += std::norm(rl) + std::norm(lr);
    noise += o.right_into_left_covariance.trace() + o.left_into_right_covariance.trace();
  }
  const bool phase_seen = std::abs(phasor) > 0;
  if (spread > kResponseOverNoise * noise && std::abs(cross) > 0) {
    // β² = −slope(q_rl)/slope(q_lr); the root nearest to the expected phase is taken.
    Complex gain = std::sqrt(-own / cross);
    const double expected = phase_seen ? std::arg(phasor) : priors.phase_centre_rad;
    if ((gain * std::polar(1.0, -expected)).real() < 0) gain = -gain;
    return std::log(gain);
  }
  return {levels > 0 ? level / levels - priors.ln_cut_ratio : 0.0, phase_seen ? std::arg(phasor) : priors.phase_centre_rad};
}

/// Gains to start from. Steps with straight and with swapped leads show one gain each; half their difference is the preamplifier's gain.
void start_gains(const std::vector<Observation>& observations, const GainPriors& priors, Eigen::VectorXd& common) {
  std::vector<Observation> straight, swapped;
  for (const Observation& o : observations) (o.leads_swapped ? swapped : straight).push_back(o);
  Complex ln_gain = first_gain(straight.empty() ? swapped : straight, priors);
  // The phase is moved by full turns to the prior's centre, so that 180° and −180° are the same.
  const auto turned = [](double phase, double centre) { return centre + std::remainder(phase - centre, 2.0 * std::numbers::pi); };
  ln_gain = {ln_gain.real(), turned(ln_gain.imag(), priors.phase_centre_rad)};
  if (!straight.empty() && !swapped.empty()) {
    const Complex other = first_gain(swapped, priors);
    common[kLnPreamplifier] = 0.5 * (ln_gain.real() - other.real());
    common[kPreamplifierPhase] = 0.5 * (ln_gain.imag() - turned(other.imag(), ln_gain.imag()));
  }
  common[kLnGain] = ln_gain.real();
  common[kGainPhase] = ln_gain.imag();
  common[kLnCutRatio] = priors.ln_cut_ratio;
}

/// Own gains to start from, by each recording's levels and both-channel passage relative to the recordings with the same leads.
Eigen::VectorXcd own_gains(const std::vector<Observation>& observations, const GainSpread& spread) {
  Eigen::VectorXcd own = Eigen::VectorXcd::Zero(static_cast<Eigen::Index>(observations.size()));
  for (const bool leads_swapped : {false, true}) {
    std::vector<double> levels;
    Complex phasor;
    for (const Observation& o : observations) {
      if (o.leads_swapped != leads_swapped) continue;
      if (o.ln_level_ratio) levels.push_back(*o.ln_level_ratio);
      if (o.interchannel_phase_rad) phasor += std::polar(1.0, *o.interchannel_phase_rad);
    }
    const double level = levels.empty() ? 0.0 : numeric::median(levels);
    for (std::size_t s = 0; s < observations.size(); ++s) {
      const Observation& o = observations[s];
      if (o.leads_swapped != leads_swapped) continue;
      const double neper = o.ln_level_ratio && spread.neper > 0 ? *o.ln_level_ratio - level : 0.0;
      const double phase = o.interchannel_phase_rad && spread.phase_rad > 0
                               ? std::remainder(*o.interchannel_phase_rad - std::arg(phasor), 2.0 * std::numbers::pi)
                               : 0.0;
      own[static_cast<Eigen::Index>(s)] = {neper, phase};
    }
  }
  return own;
}

std::vector<Observation> without_own_gains(std::vector<Observation> observations, const Eigen::VectorXcd& own) {
  for (std::size_t s = 0; s < observations.size(); ++s) {
    Observation& o = observations[s];
    const Complex ln_gain = own[static_cast<Eigen::Index>(s)];
    o.right_into_left *= std::exp(-ln_gain);
    o.left_into_right *= std::exp(ln_gain);
    if (o.ln_level_ratio) *o.ln_level_ratio -= ln_gain.real();
    if (o.interchannel_phase_rad) *o.interchannel_phase_rad -= ln_gain.imag();
  }
  return observations;
}

void start_tilts(const std::vector<Observation>& observations, Eigen::VectorXd& psi, Eigen::VectorXd& common) {
  const auto n = static_cast<double>(observations.size());
  for (std::size_t s = 0; s < observations.size(); ++s) {
    const Complex gain = std::exp(ln_gain_of(common, observations[s].leads_swapped));
    const Complex x_rl = observations[s].right_into_left / gain;
    const Complex x_lr = observations[s].left_into_right * gain;
    psi[static_cast<Eigen::Index>(s)] = std::atan(0.5 * (x_rl - x_lr).real());
    common[kShear] += 0.5 * (x_rl + x_lr).real() / n;
    common[kQuadratureLeft] += x_rl.imag() / n;
    common[kQuadratureRight] += x_lr.imag() / n;
  }
}

void start(const std::vector<Observation>& observations, const GainPriors& priors, SignalFit& fit) {
  start_gains(observations, priors, fit.common);
  start_tilts(observations, fit.psi_rad, fit.common);
}

}  // namespace

SignalFit signal_start(const std::vector<Observation>& observations, const GainPriors& priors) {
  const auto n = static_cast<Eigen::Index>(observations.size());
  SignalFit fit{Eigen::VectorXd::Zero(n), Eigen::VectorXd::Zero(kCommonSize), {}};
  if (!priors.spread.any()) {
    start(observations, priors, fit);
    return fit;
  }
  fit.own_ln_gain = own_gains(observations, priors.spread);
  start(without_own_gains(observations, fit.own_ln_gain), priors, fit);
  return fit;
}

}  // namespace evenwall::internal::solve
