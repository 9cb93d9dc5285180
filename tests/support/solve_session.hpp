// SPDX-License-Identifier: GPL-3.0-or-later
// Makes sessions from vectors, without audio.
#pragma once

#include <algorithm>

#include "support/measurement_of.hpp"
#include "support/rig.hpp"

inline evenwall::Session session_of(const rig::Rig& r, const std::vector<double>& tilts_deg, double u, rig::Draw& draw,
                                    evenwall::OptionalNumber gauge_u_deg) {
  evenwall::Session session;
  session.facts.gauge_u_deg = gauge_u_deg;
  int index = 0;
  for (const double t : tilts_deg) {
    session.steps.push_back(rig::step(r, t, t, u, draw, ++index));
  }
  return session;
}

/// Changes a step as swapped inputs of the recorder do, or leads swapped before the preamplifier.
inline void swap_channels_of(evenwall::Step& step) {
  using evenwall::Driven;
  evenwall::Measurement& r = measurement_of(step);
  std::swap(r.crosstalk.right_into_left, r.crosstalk.left_into_right);
  r.crosstalk_spectrum = {r.crosstalk};
  r.balance_db = -*r.balance_db;
  r.interchannel_phase_deg = -*r.interchannel_phase_deg;
  for (evenwall::Passage& p : r.passages) {
    if (p.driven != Driven::kBoth) p.driven = p.driven == Driven::kLeft ? Driven::kRight : Driven::kLeft;
  }
}

/// Changes a crosstalk ratio without changing either channel's level.
inline void shift_leak(evenwall::Leak& leak, std::complex<double> by) {
  const std::complex<double> times = 1.0 + by / leak.same_passage.value;
  leak.same_passage.value += by;
  if (!leak.re || !leak.im) return;
  const std::complex<double> gain_free = std::complex<double>(*leak.re, *leak.im) * times;
  leak.re = gain_free.real();
  leak.im = gain_free.imag();
}

/// A session read with a voltmeter at the rig's outputs: decibels with an error of u_db each, no phases; also levels if `levels` is set.
inline evenwall::Session metered(const rig::Rig& r, int steps, double span_deg, double gauge_deg, double u_db, bool levels,
                                 rig::Draw& draw) {
  evenwall::Session session;
  session.facts.gauge_u_deg = gauge_deg;
  for (int i = 0; i < steps; ++i) {
    const double logged = -span_deg + 2 * span_deg * i / (steps - 1);
    evenwall::Step step = rig::step(r, logged + gauge_deg * draw.normal(), logged, 0, draw, i);
    evenwall::Measurement& measured = measurement_of(step);
    measured.passages.clear();
    measured.phases_measured = false;
    for (auto* leak : {&measured.crosstalk.right_into_left, &measured.crosstalk.left_into_right}) {
      const double size = std::abs((*leak)->same_passage.value) * std::pow(10.0, u_db * draw.normal() / 20);
      (*leak)->same_passage = {size, size * u_db / 8.685889638, size * u_db / 8.685889638, 0};
      if (!levels) (*leak)->re.reset(), (*leak)->im.reset();
    }
    if (levels) {
      const double balance_db = *measured.balance_db + u_db * draw.normal();
      evenwall::Leak& rl = *measured.crosstalk.right_into_left;
      rl.re = rl.same_passage.value.real() * std::pow(10.0, -balance_db / 20);
      rl.im = 0;
      measured.u_balance_db = u_db;
    }
    measured.crosstalk_spectrum = {measured.crosstalk};
    session.steps.push_back(std::move(step));
  }
  return session;
}

/// The captures that were excluded because they disagree with the others.
inline std::vector<std::string> set_aside(const evenwall::Solution& s) {
  std::vector<std::string> names;
  for (const evenwall::SolvedStep& step : s.steps) {
    if (std::find(step.flags.begin(), step.flags.end(), evenwall::StepFlag::kLeaksOff) != step.flags.end() && !step.used)
      names.push_back(step.capture);
  }
  return names;
}

inline bool says(const evenwall::Warnings& warnings, evenwall::WarningCode code) {
  return std::any_of(warnings.begin(), warnings.end(), [&](const evenwall::Warning& w) { return w.code == code; });
}

/// A session in which each of 50 settings occurs several times. With `one_wrong`, one step is logged one degree off.
inline evenwall::Session long_session(int steps, evenwall::OptionalNumber gauge_u_deg, bool one_wrong) {
  rig::Draw draw(static_cast<std::uint64_t>(steps));
  const rig::Rig r = rig::random_rig(draw);
  evenwall::Session session;
  session.facts.gauge_u_deg = gauge_u_deg;
  for (int i = 0; i < steps; ++i) {
    const double logged = -2.5 + 5.0 * (i % 50) / 49;  // each setting several times
    evenwall::Step step = rig::step(r, logged + 0.05 * draw.normal() + (one_wrong && i == 7 ? 1 : 0), logged, 2e-5, draw, i);
    step.log.sequence = i;
    step.log.approach = i % 3 == 0 ? "up" : "down";
    session.steps.push_back(std::move(step));
  }
  return session;
}
