// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/step_wiring.hpp"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <numeric>

#include "solve/agreement.hpp"
#include "solve/method_constants.hpp"
#include "solve/odd_steps.hpp"
#include "solve/recording_gains.hpp"

namespace evenwall::internal::solve {
namespace {

using Wirings = std::vector<StepWiring>;

std::vector<Observation> rewired(const Wirings& wirings, std::vector<Observation> observations) {
  for (const StepWiring& w : wirings) rewire(w, observations[w.row]);
  return observations;
}

Agreement agreement_with(const Wirings& wirings, const std::vector<Observation>& seen, const GainPriors& priors) {
  const std::vector<Observation> observations = rewired(wirings, seen);
  Rows rows(observations.size());
  std::iota(rows.begin(), rows.end(), std::size_t{0});
  return agreement(leaks_of(observations, rows, priors), at_phase_seen(observations, priors));
}

/// The recordings in which the both-channel passage moves the stylus the other way than in most. Empty if there is no clear majority.
Wirings reversed_minority(const std::vector<Observation>& observations) {
  std::array<Wirings, 2> by_motion;
  for (std::size_t row = 0; row < observations.size(); ++row) {
    if (observations[row].interchannel_phase_rad) by_motion[observations[row].vertical ? 1 : 0].push_back({row, false, true});
  }
  const Wirings& fewer = by_motion[0].size() < by_motion[1].size() ? by_motion[0] : by_motion[1];
  return 2 * fewer.size() < by_motion[0].size() + by_motion[1].size() ? fewer : Wirings{};
}

/// All wirings other than the usual one: of each recording (changed = 1) or of each two (changed = 2).
std::vector<Wirings> others(std::size_t steps, std::size_t changed) {
  constexpr StepWiring kStates[] = {{0, false, true}, {0, true, false}, {0, true, true}};
  std::vector<Wirings> all;
  for (std::size_t i = 0; i < steps; ++i) {
    for (const StepWiring& one : kStates) {
      if (changed == 1) all.push_back({{i, one.swapped, one.reversed}});
      for (std::size_t k = i + 1; changed == 2 && k < steps; ++k) {
        for (const StepWiring& two : kStates) all.push_back({{i, one.swapped, one.reversed}, {k, two.swapped, two.reversed}});
      }
    }
  }
  return all;
}

/// All combinations of wirings of these recordings, except the usual wiring of all.
std::vector<Wirings> of_these(const Rows& rows) {
  std::vector<Wirings> all;
  std::size_t states = 1;
  for (std::size_t i = 0; i < rows.size(); ++i) states *= 4;
  for (std::size_t state = 1; state < states; ++state) {
    Wirings wirings;
    std::size_t left = state;
    for (const std::size_t row : rows) {
      if (left % 4 != 0) wirings.push_back({row, left % 4 >= 2, left % 2 == 1});
      left /= 4;
    }
    all.push_back(std::move(wirings));
  }
  return all;
}

/// The wirings with which the crosstalk agrees, if they are clearly the best ones.
Wirings clearly_best(const std::vector<Wirings>& candidates, const std::vector<Observation>& observations, const GainPriors& priors) {
  const Wirings* best = nullptr;
  Agreement agreed;
  double next = HUGE_VAL;
  for (const Wirings& wirings : candidates) {
    Agreement now = agreement_with(wirings, observations, priors);
    if (!(now.chi2 < agreed.chi2)) {
      next = std::min(next, now.chi2);
      continue;
    }
    next = agreed.chi2;
    agreed = std::move(now);
    best = &wirings;
  }
  const bool clear = best != nullptr && agreed.p_value >= kOddContradict && next - agreed.chi2 > kOddClearly;
  return clear ? *best : Wirings{};
}

}  // namespace

Wirings step_wiring(const std::vector<Observation>& observations, const GainPriors& priors) {
  const std::size_t n = observations.size();
  GainPriors alike = priors;
  alike.spread = {};
  if (n < kWiringFrom) return {};
  const LeakAgreement leaks = leak_agreement(observations, alike);
  if (leaks.p_value >= kOddContradict) return {};
  // Swapped channels look like another gain at the opposite tilt. The more probable of the two is taken.
  Wirings best;
  double largest = recording_spread(observations, alike).log_weight;
  const auto consider = [&](Wirings wirings) {
    if (wirings.empty()) return;
    const RecordingSpread own = recording_spread(rewired(wirings, observations), alike);
    GainPriors with_own = alike;
    with_own.spread = own.spread;
    const double weight = own.log_weight + static_cast<double>(wirings.size()) * std::log(kOtherWiring);
    if (!(weight > largest) || agreement_with(wirings, observations, with_own).p_value < kOddContradict) return;
    largest = weight;
    best = std::move(wirings);
  };
  consider(reversed_minority(observations));
  if (!leaks.odd.empty()) {
    // Odd steps may merely be wired otherwise. The other steps agree as they are.
    if (leaks.odd.size() <= kWiringMostOdd) consider(clearly_best(of_these(leaks.odd), observations, alike));
    return best;
  }
  GainPriors jittering = alike;
  jittering.spread = {kWiringOwnGain_db / kDbPerNeper, radians(kWiringOwnPhase_deg)};
  for (const GainPriors& gains : {alike, jittering}) {
    if (n <= kWiringMost) consider(clearly_best(others(n, 1), observations, gains));
    if (n >= kTwoWiringsFrom && n <= kTwoWiringsMost) consider(clearly_best(others(n, 2), observations, gains));
    if (!best.empty()) break;
  }
  return best;
}

void rewire(const StepWiring& wiring, Observation& o) {
  if (wiring.swapped) swap_channels(o);
  if (!wiring.reversed) return;
  o.right_into_left = -o.right_into_left;
  o.left_into_right = -o.left_into_right;
  if (!o.interchannel_phase_rad) return;
  // The measurement folds the phase into ±90° and marks the passage as vertical instead.
  if (std::cos(*o.interchannel_phase_rad) < 0) {
    o.interchannel_phase_rad = std::remainder(*o.interchannel_phase_rad + std::numbers::pi, 2 * std::numbers::pi);
  }
  o.vertical = !o.vertical;
}

}  // namespace evenwall::internal::solve
