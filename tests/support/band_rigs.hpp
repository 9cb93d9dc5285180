// SPDX-License-Identifier: GPL-3.0-or-later
// Makes sessions of a cartridge whose crosstalk depends on the frequency, and finds their true optimum over the band by brute force.
#pragma once

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>
#include <vector>

#include "support/measurement_of.hpp"
#include "support/rig.hpp"

namespace band_rigs {

struct AtFrequency {
  double frequency_hz = 0;
  rig::Rig rig;
};
using BandRig = std::vector<AtFrequency>;

/// Third octaves from 10^(low/10) Hz to 10^(high/10) Hz of a random cartridge with a resonance in its coupling.
inline BandRig random_band_rig(rig::Draw& draw, int low = 21, int high = 40) {
  const rig::Rig base = rig::random_rig(draw);
  const double f0_hz = draw.uniform(2000, 12000), q = draw.uniform(1, 6);
  const rig::C rl = std::polar(draw.uniform(0.003, 0.012), draw.uniform(-3.14, 3.14));
  const rig::C lr = std::polar(draw.uniform(0.003, 0.012), draw.uniform(-3.14, 3.14));
  BandRig all;
  for (int n = low; n <= high; ++n) {
    const double f = std::pow(10.0, n / 10.0), x = f / f0_hz;
    const rig::C resonance = 1.0 / (rig::C(1 - x * x, x / q));
    all.push_back({f, base});
    all.back().rig.coupling_rl += rl * resonance;
    all.back().rig.coupling_lr += lr * resonance;
  }
  return all;
}

/// A step with crosstalk at each frequency; that of 1 kHz is the step's own.
inline evenwall::Step step(const BandRig& rigs, double true_deg, double logged_deg, double u, rig::Draw& draw, int index) {
  evenwall::Step whole;
  std::vector<evenwall::LeakPair> spectrum;
  for (const AtFrequency& at : rigs) {
    evenwall::Step one = rig::step(at.rig, true_deg, logged_deg, u, draw, index);
    evenwall::Measurement& measured = measurement_of(one);
    measured.crosstalk.frequency_hz = at.frequency_hz;
    spectrum.push_back(measured.crosstalk);
    if (std::abs(at.frequency_hz - 1000) < 1 || spectrum.size() == 1) whole = one;
  }
  measurement_of(whole).crosstalk_spectrum = spectrum;
  return whole;
}

/// A session of many steps at 50 settings, with crosstalk at this number of third octaves from 25 Hz on.
inline evenwall::Session long_session(int steps, int frequencies, evenwall::OptionalNumber gauge_u_deg) {
  rig::Draw draw(static_cast<std::uint64_t>(steps));
  const BandRig rigs = random_band_rig(draw, 14, 13 + frequencies);
  evenwall::Session session;
  session.facts.gauge_u_deg = gauge_u_deg;
  for (int i = 0; i < steps; ++i) {
    const double logged = -2.5 + 5.0 * (i % 50) / 49;
    session.steps.push_back(step(rigs, logged + 0.05 * draw.normal(), logged, 2e-5, draw, i));
    session.steps.back().log.sequence = i;
  }
  return session;
}

/// Weighted sum over the frequencies of the squared crosstalk, right into left and left into right.
template <typename Weight>
std::pair<double, double> powers(const BandRig& rigs, double tilt_deg, const Weight& weight) {
  std::pair<double, double> sum{0, 0};
  for (const AtFrequency& at : rigs) {
    sum.first += weight(at.frequency_hz) * std::norm(rig::leak_rl(at.rig, tilt_deg));
    sum.second += weight(at.frequency_hz) * std::norm(rig::leak_lr(at.rig, tilt_deg));
  }
  return sum;
}

inline double flat(double) { return 1; }

template <typename Weight>
double least_deg(const BandRig& rigs, const Weight& weight) {
  const auto total = [&](double t) {
    const auto [rl, lr] = powers(rigs, t, weight);
    return rl + lr;
  };
  double best = 0;
  for (double t = -6; t <= 6; t += 0.1) best = total(t) < total(best) ? t : best;
  for (double by = 0.1; by > 1e-9; by *= 0.5) {
    while (total(best + by) < total(best)) best += by;
    while (total(best - by) < total(best)) best -= by;
  }
  return best;
}

/// The tilt nearest to `from_deg` at which both directions have the same power, if there is one within 5°.
template <typename Weight>
std::optional<double> equal_deg(const BandRig& rigs, double from_deg, const Weight& weight) {
  const auto difference = [&](double t) {
    const auto [rl, lr] = powers(rigs, t, weight);
    return rl - lr;
  };
  std::optional<double> nearest;
  for (double t = from_deg - 5; t < from_deg + 5; t += 0.02) {
    if (difference(t) * difference(t + 0.02) > 0) continue;
    double low = t, high = t + 0.02;
    for (int i = 0; i < 60; ++i) {
      const double middle = 0.5 * (low + high);
      (difference(low) * difference(middle) <= 0 ? high : low) = middle;
    }
    if (!nearest || std::abs(low - from_deg) < std::abs(*nearest - from_deg)) nearest = low;
  }
  return nearest;
}

}  // namespace band_rigs
