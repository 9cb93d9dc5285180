// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/signal_fit.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cmath>
#include <numbers>

#include "evenwall/error.hpp"
#include "solve/method_constants.hpp"
#include "solve/signal_start.hpp"
#include "solve/step_rows.hpp"
#include "solve/whitening.hpp"

namespace evenwall::internal::solve {
namespace {

using CommonSlopes = std::array<double, kCommonSize>;

/// One scalar datum of a step: residual, its slopes by the step's ψ and by the common unknowns, and its standard uncertainty.
void add(StepRows& fit, double residual, double psi_slope, const CommonSlopes& common_slopes, double u) {
  CommonSlopes whitened;
  for (std::size_t k = 0; k < whitened.size(); ++k) whitened[k] = common_slopes[k] / u;
  fit.add(psi_slope / u, whitened.data(), residual / u);
}

void add_prior(StepRows& fit, int unknown, double value, double centre, double u) {
  CommonSlopes slopes{};
  slopes[static_cast<std::size_t>(unknown)] = 1 / u;
  fit.add_common(slopes.data(), (centre - value) / u);
}

struct Whitenings {
  Whitening right_into_left, left_into_right;
};

Eigen::Matrix2d weighted_covariance(const Eigen::Matrix2d& covariance, double degrees_of_freedom, std::size_t steps) {
  // Weights that were estimated from few blocks make the fit seem better than it is.
  return covariance * (1.0 + 4.0 / degrees_of_freedom * (1.0 - 1.0 / static_cast<double>(steps)));
}

std::vector<Whitenings> whitenings_of(const std::vector<Observation>& observations) {
  std::vector<Whitenings> all;
  all.reserve(observations.size());
  for (const Observation& o : observations) {
    all.push_back({whitening(weighted_covariance(o.right_into_left_covariance, o.right_degrees_of_freedom, observations.size())),
                   whitening(weighted_covariance(o.left_into_right_covariance, o.left_degrees_of_freedom, observations.size()))});
  }
  return all;
}

/// A complex ratio and its slopes by ψ and the common unknowns.
struct RatioModel {
  Complex value;
  Complex psi_slope;
  std::array<Complex, kCommonSize> common_slope{};
};

/// gain: the factor in the ratio, which is the gain ratio to the power of gain_sign (+1, or −1 if the ratio contains the inverse).
RatioModel ratio_model(const Response::Term& x, Complex gain, bool leads_swapped, double gain_sign) {
  RatioModel m{gain * x.value, gain * x.slope[0]};
  for (std::size_t k = 0; k < kShapeSize; ++k) m.common_slope[k] = gain * x.slope[k + 1];
  m.common_slope[kLnGain] = gain_sign * m.value;
  m.common_slope[kGainPhase] = gain_sign * Complex(0, 1) * m.value;
  if (leads_swapped) {
    m.common_slope[kLnPreamplifier] = -2.0 * m.common_slope[kLnGain];
    m.common_slope[kPreamplifierPhase] = -2.0 * m.common_slope[kGainPhase];
  }
  return m;
}

void add_ratio(StepRows& fit, Complex seen, const RatioModel& model, const Whitening& by) {
  const Complex residual = seen - model.value;
  const auto part = [](Complex z, double re, double im) { return re * z.real() + im * z.imag(); };
  const auto add_part = [&](double re, double im) {
    CommonSlopes slopes;
    for (std::size_t k = 0; k < slopes.size(); ++k) slopes[k] = part(model.common_slope[k], re, im);
    add(fit, part(residual, re, im), part(model.psi_slope, re, im), slopes, 1.0);
  };
  add_part(by.re_re, 0);
  add_part(by.im_re, by.im_im);
}

/// Slopes by (ψ, shape) of the logarithm of a quotient of two terms.
std::array<Complex, 1 + kShapeSize> ln_slopes(const Response::Term& numerator, const Response::Term& denominator) {
  std::array<Complex, 1 + kShapeSize> slopes;
  const Complex over = 1.0 / numerator.value;
  const Complex under = 1.0 / denominator.value;
  for (std::size_t k = 0; k < slopes.size(); ++k) slopes[k] = numerator.slope[k] * over - denominator.slope[k] * under;
  return slopes;
}

Response::Term sum(const Response::Term& a, const Response::Term& b, double sign) {
  Response::Term t{a.value + sign * b.value, {}};
  for (std::size_t k = 0; k < t.slope.size(); ++k) t.slope[k] = a.slope[k] + sign * b.slope[k];
  return t;
}

/// ln_gain: that of the step, including its own part.
void add_level(StepRows& fit, const Observation& o, const Response& r, const Eigen::VectorXd& common, Complex ln_gain) {
  const double model =
      ln_gain.real() + common[kLnCutRatio] + std::log(std::abs(r.left_from_left.value)) - std::log(std::abs(r.right_from_right.value));
  const auto slopes = ln_slopes(r.left_from_left, r.right_from_right);
  CommonSlopes by_common{};
  for (std::size_t k = 0; k < kShapeSize; ++k) by_common[k] = slopes[k + 1].real();
  by_common[kLnGain] = by_common[kLnCutRatio] = 1;
  if (o.leads_swapped) by_common[kLnPreamplifier] = -2;
  add(fit, *o.ln_level_ratio - model, slopes[0].real(), by_common, o.u_ln_level_ratio);
}

void add_phase(StepRows& fit, const Observation& o, const Response& r, const Eigen::VectorXd& common, Complex ln_gain) {
  const double sign = o.vertical ? -1.0 : 1.0;
  const auto left = sum(r.left_from_left, r.left_from_right, sign);
  const auto right = sum(r.right_from_right, r.right_from_left, sign);
  const double model = ln_gain.imag() + common[kCutPhase] + std::arg(left.value / right.value);
  const auto slopes = ln_slopes(left, right);
  CommonSlopes by_common{};
  for (std::size_t k = 0; k < kShapeSize; ++k) by_common[k] = slopes[k + 1].imag();
  by_common[kGainPhase] = by_common[kCutPhase] = 1;
  if (o.leads_swapped) by_common[kPreamplifierPhase] = -2;
  const double residual = std::remainder(*o.interchannel_phase_rad - model, 2.0 * std::numbers::pi);
  add(fit, residual, slopes[0].imag(), by_common, kPhaseReading_rad);
}

/// The data of a fit, which stay the same from round to round.
struct Data {
  const std::vector<Observation>& observations;
  const GainPriors& priors;
  std::vector<Whitenings> whitenings;
  double bend_spread_rad;
};

/// The linearised fit at the present unknowns.
/// Throws: Error(kData) if there are fewer data than unknowns: a single step with neither a level ratio nor a both-channel phase.
StepRows linearised(const Data& data, const SignalFit& at) {
  const Eigen::VectorXd& psi = at.psi_rad;
  const Eigen::VectorXd& common = at.common;
  StepRows fit(psi.size(), data.priors.spread);
  const ResponseShape shape = at.shape();
  std::array<Complex, 2> ln_gain{ln_gain_of(common, false), ln_gain_of(common, true)};
  std::array<Complex, 2> gain{std::exp(ln_gain[0]), std::exp(ln_gain[1])};
  std::array<Complex, 2> inverse{std::exp(-ln_gain[0]), std::exp(-ln_gain[1])};
  for (std::size_t s = 0; s < data.observations.size(); ++s) {
    const Observation& o = data.observations[s];
    const std::size_t leads = o.leads_swapped ? 1 : 0;
    const Complex own = at.own_gain(s);
    if (at.own_ln_gain.size() > 0) {
      ln_gain[leads] = ln_gain_of(common, o.leads_swapped) + own;
      gain[leads] = std::exp(ln_gain[leads]);
      inverse[leads] = std::exp(-ln_gain[leads]);
    }
    const Response r = response_at(psi[static_cast<Eigen::Index>(s)], shape);
    add_ratio(fit, o.right_into_left, ratio_model(quotient(r.left_from_right, r.right_from_right), gain[leads], o.leads_swapped, 1.0),
              data.whitenings[s].right_into_left);
    add_ratio(fit, o.left_into_right, ratio_model(quotient(r.right_from_left, r.left_from_left), inverse[leads], o.leads_swapped, -1.0),
              data.whitenings[s].left_into_right);
    if (o.ln_level_ratio) add_level(fit, o, r, common, ln_gain[leads]);
    if (o.interchannel_phase_rad) add_phase(fit, o, r, common, ln_gain[leads]);
    fit.end_step(own);
  }
  const GainPriors& priors = data.priors;
  add_prior(fit, kBend, common[kBend], 0, data.bend_spread_rad);
  add_prior(fit, kGainPhase, common[kGainPhase], priors.phase_centre_rad, kGainPhaseSpread_rad);
  add_prior(fit, kLnCutRatio, common[kLnCutRatio], priors.ln_cut_ratio, std::max(priors.u_ln_cut_ratio, kLeastCut_neper));
  add_prior(fit, kCutPhase, common[kCutPhase], 0, kCutPhaseSpread_rad);
  add_prior(fit, kLnPreamplifier, common[kLnPreamplifier], 0, kPreamplifierSpread_neper);
  add_prior(fit, kPreamplifierPhase, common[kPreamplifierPhase], 0, kGainPhaseSpread_rad);
  if (fit.rows() < psi.size() + kCommonSize) {
    throw Error(ErrorKind::kData,
                "the steps have fewer measured values than the response has unknowns. Capture both bands at two tilts or more.");
  }
  return fit;
}

}  // namespace

SignalFit fit_signal(const std::vector<Observation>& observations, const GainPriors& priors, const SignalFit* near) {
  assert(!observations.empty());
  const auto n = static_cast<Eigen::Index>(observations.size());
  SignalFit fit = signal_start(observations, priors);
  const Data data{observations, priors, whitenings_of(observations), std::hypot(kLeastBendSpread_rad, fit.common[kShear])};
  if (near != nullptr && near->own_ln_gain.size() == fit.own_ln_gain.size()) {
    fit.psi_rad = near->psi_rad;
    fit.common = near->common;
    fit.own_ln_gain = near->own_ln_gain;
  }
  const int rounds = priors.spread.any() ? kOwnGainIterations : kSignalIterations;
  for (int iteration = 0; iteration < rounds; ++iteration) {
    // Each round computes the residuals anew from the model and thereby refines the result of the round before.
    const StepRows::Coefficients step = linearised(data, fit).coefficients();
    fit.psi_rad += step.psi;
    fit.common += step.common;
    if (priors.spread.any()) fit.own_ln_gain += step.ln_gain;
    if (std::max(step.psi.cwiseAbs().maxCoeff(), step.common.cwiseAbs().maxCoeff()) < kConverged_rad) break;
  }
  StepRows last = linearised(data, fit);
  fit.covariance = last.covariance();
  fit.chi2 = last.squares_of_values();
  fit.log_evidence = -0.5 * (fit.chi2 + last.log_determinant());
  double read = kSignalPriors;
  for (const Observation& o : observations) read += 4 + (o.ln_level_ratio ? 1 : 0) + (o.interchannel_phase_rad ? 1 : 0);
  fit.degrees_of_freedom = read - static_cast<double>(n + kCommonSize);
  return fit;
}

Complex ln_gain_of(const Eigen::VectorXd& common, bool leads_swapped) {
  const Complex gain{common[kLnGain], common[kGainPhase]};
  return leads_swapped ? gain - 2.0 * Complex(common[kLnPreamplifier], common[kPreamplifierPhase]) : gain;
}

PredictedRatios predicted_ratios(double psi_rad, const Eigen::VectorXd& common) {
  const Response r = response_at(psi_rad, shape_of(common));
  const Complex gain = std::exp(ln_gain_of(common, false));
  return {gain * r.left_from_right.value / r.right_from_right.value, r.right_from_left.value / r.left_from_left.value / gain};
}

}  // namespace evenwall::internal::solve
