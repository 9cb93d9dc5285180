// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/recording_gains.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <iterator>

#include "numeric/distributions.hpp"
#include "solve/agreement.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

std::vector<double> spreads(double low, double high, int points) {
  std::vector<double> all{0};
  for (int i = 0; i < points; ++i) all.push_back(low * std::pow(high / low, i / (points - 1.0)));
  return all;
}

/// Observations taken evenly from all, which are sorted by logged tilt. Of very many, a part is enough to find the spreads.
std::vector<Observation> some_of(const std::vector<Observation>& observations) {
  if (observations.size() <= kOwnGainMostSteps) return observations;
  std::vector<Observation> some;
  for (std::size_t k = 0; k < kOwnGainMostSteps; ++k) some.push_back(observations[k * observations.size() / kOwnGainMostSteps]);
  return some;
}

/// Prior × evidence, natural logarithm.
double log_weight(const std::vector<Observation>& observations, GainPriors priors, const GainSpread& spread) {
  priors.spread = spread;
  const double evidence = fit_signal(observations, priors).log_evidence;
  if (!std::isfinite(evidence)) return -HUGE_VAL;
  const double of_neper = spread.neper > 0 ? (1 - kNoOwnGain) / kOwnGainPoints : kNoOwnGain;
  const double of_phase = spread.phase_rad > 0 ? (1 - kNoOwnGain) / kOwnPhasePoints : kNoOwnGain;
  return evidence + std::log(of_neper) + std::log(of_phase);
}

/// The same for one gain and crosstalk that scatters more than its stated uncertainty, at the likeliest factor.
double log_weight_of_noise(std::vector<Observation> observations, const GainPriors& priors) {
  double largest = -HUGE_VAL;
  const double parts = 4 * static_cast<double>(observations.size());
  double before = 1;
  for (const double factor : kNoisierThanStated) {
    for (Observation& o : observations) {
      o.right_into_left_covariance *= (factor / before) * (factor / before);
      o.left_into_right_covariance *= (factor / before) * (factor / before);
    }
    before = factor;
    largest = std::max(largest, log_weight(observations, priors, {}) - parts * std::log(factor));
  }
  return largest + std::log(kNoisierPrior / static_cast<double>(std::size(kNoisierThanStated)));
}

}  // namespace

RecordingSpread recording_spread(const std::vector<Observation>& observations, const GainPriors& stated) {
  assert(!observations.empty());
  GainPriors priors = at_phase_seen(observations, stated);
  priors.spread = {};
  const std::vector<Observation> some = some_of(observations);
  const RecordingSpread none{{}, log_weight(some, priors, {})};
  if (observations.size() < 2) return none;
  const SignalFit alike = fit_signal(observations, priors);
  if (std::isfinite(alike.chi2) && numeric::chi_square_upper(alike.chi2, std::max(1.0, alike.degrees_of_freedom)) >= kGainsAlike_p)
    return none;
  const std::vector<double> neper = spreads(kOwnGainLow_db / kDbPerNeper, kOwnGainHigh_db / kDbPerNeper, kOwnGainPoints);
  const std::vector<double> phase = spreads(radians(kOwnPhaseLow_deg), radians(kOwnPhaseHigh_deg), kOwnPhasePoints);
  // The search starts from the widest spreads, which explain everything. Fits that start from zero spread would lead to no result.
  RecordingSpread best{{neper.back(), phase.back()}, 0};
  best.log_weight = log_weight(some, priors, best.spread);
  const auto try_all = [&](const std::vector<double>& grid, double GainSpread::*which) {
    GainSpread tried = best.spread;
    for (const double spread : grid) {
      tried.*which = spread;
      const double weight = log_weight(some, priors, tried);
      if (weight > best.log_weight) best = {tried, weight};
    }
  };
  for (int round = 0; round < 2; ++round) {
    try_all(neper, &GainSpread::neper);
    try_all(phase, &GainSpread::phase_rad);
  }
  // If crosstalk that scatters more than its stated uncertainty explains the readings better, the gains have no spread.
  const double otherwise = std::max(none.log_weight, log_weight_of_noise(some, priors));
  return best.log_weight > otherwise ? best : RecordingSpread{{}, otherwise};
}

}  // namespace evenwall::internal::solve
