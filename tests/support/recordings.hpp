// SPDX-License-Identifier: GPL-3.0-or-later
// Applies changes that one recording may have of its own to steps from vectors.
#pragma once

#include <cmath>
#include <complex>
#include <cstdint>
#include <vector>

#include "support/solve_session.hpp"

namespace recordings {

/// Changes the left channel's gain relative to the right channel's by this factor, in this recording alone.
inline void change_gain(evenwall::Step& step, double db, double phase_deg) {
  evenwall::Measurement& m = measurement_of(step);
  const std::complex<double> by = std::polar(std::pow(10.0, db / 20), phase_deg / 180 * 3.14159265358979323846);
  m.crosstalk.right_into_left->same_passage.value *= by;
  m.crosstalk.left_into_right->same_passage.value /= by;
  for (auto* leak : {&m.crosstalk.right_into_left, &m.crosstalk.left_into_right}) {
    const double times = leak == &m.crosstalk.right_into_left ? std::abs(by) : 1 / std::abs(by);
    (*leak)->same_passage.u_re *= times;
    (*leak)->same_passage.u_im *= times;
  }
  // The gain-free ratios do not change, because levels and the both-channel band show the change.
  m.crosstalk_spectrum = {m.crosstalk};
  m.balance_db = *m.balance_db + db;
  m.interchannel_phase_deg = *m.interchannel_phase_deg + phase_deg;
}

/// Changes the readings of the levels and of the both-channel passage by this much. The ratios as measured do not change.
inline void misread(evenwall::Step& step, double db, double phase_deg) {
  evenwall::Measurement& m = measurement_of(step);
  const std::complex<double> by = std::polar(std::pow(10.0, db / 20), phase_deg / 180 * 3.14159265358979323846);
  for (auto* leak : {&m.crosstalk.right_into_left, &m.crosstalk.left_into_right}) {
    const std::complex<double> gain_free = std::complex<double>(*(*leak)->re, *(*leak)->im);
    const std::complex<double> off = leak == &m.crosstalk.right_into_left ? gain_free / by : gain_free * by;
    (*leak)->re = off.real();
    (*leak)->im = off.imag();
  }
  m.crosstalk_spectrum = {m.crosstalk};
  m.balance_db = *m.balance_db + db;
  m.interchannel_phase_deg = *m.interchannel_phase_deg + phase_deg;
}

/// Reverses one channel's polarity. `measure` then classifies a lateral band as vertical and folds its phase.
inline void reverse(evenwall::Step& step) {
  evenwall::Measurement& m = measurement_of(step);
  m.crosstalk.right_into_left->same_passage.value *= -1.0;
  m.crosstalk.left_into_right->same_passage.value *= -1.0;
  for (auto* leak : {&m.crosstalk.right_into_left, &m.crosstalk.left_into_right}) {
    (*leak)->re = -*(*leak)->re;
    (*leak)->im = -*(*leak)->im;
  }
  m.crosstalk_spectrum = {m.crosstalk};
  for (evenwall::Passage& p : m.passages) {
    if (p.relation) p.relation = evenwall::Relation::kAntiphase;
  }
}

inline const std::vector<double> kFive{-2, -1, 0, 1, 2};

struct Bench {
  evenwall::Session session;
  double least_deg;
};

/// A session with standard deviations of 0.02 dB for levels, 0.03° for phases and 0.01° for the settings of the gauge.
inline Bench bench(std::uint64_t seed, const std::vector<double>& tilts_deg = kFive) {
  rig::Draw draw(seed);
  const rig::Rig r = rig::random_rig(draw);
  Bench b{session_of(r, {}, 0, draw, 0.01), rig::least_truth_deg(r)};
  for (std::size_t i = 0; i < tilts_deg.size(); ++i) {
    b.session.steps.push_back(rig::step(r, tilts_deg[i] + 0.01 * draw.normal(), tilts_deg[i], 1e-4, draw, static_cast<int>(i)));
    misread(b.session.steps.back(), 0.02 * draw.normal(), 0.03 * draw.normal());
  }
  return b;
}

}  // namespace recordings
