// SPDX-License-Identifier: GPL-3.0-or-later
// Holds a solution made up by hand, which the tests of the pages show.
#pragma once

#include "evenwall/model.hpp"

inline evenwall::SolvedStep example_step(const char* capture, double tilt_deg) {
  evenwall::SolvedStep s;
  s.capture = capture;
  s.tilt_deg = tilt_deg;
  s.tilt_from_signal_deg = tilt_deg + 0.01;
  s.audit_deg = 0.01;
  s.u_audit_deg = 0.02;
  s.right_into_left_db = -28.4;
  s.left_into_right_db = -30.6;
  s.right_into_left_phase_deg = 12;
  s.left_into_right_phase_deg = -168;
  return s;
}

inline evenwall::Solution example_solution() {
  evenwall::Solution s;
  s.session.cartridge = "Larkspur";
  s.frequency_hz = 1000;
  s.recommended.tilt_deg = 1.10432;
  s.recommended.u_deg = 0.0211;
  s.recommended.interval95_deg = {1.0629, 1.1457};
  s.recommended.right_into_left_db = -36.04;
  s.recommended.left_into_right_db = -36.13;
  s.recommended.basis = evenwall::Basis::kEqualCrosstalk;
  s.recommended.why = "equal crosstalk: both sides alike";
  s.equal_crosstalk.determined = true;
  s.equal_crosstalk.tilt_deg = 1.10432;
  s.equal_crosstalk.u_deg = 0.0211;
  s.equal_crosstalk.interval95_deg = evenwall::Interval{1.0629, 1.1457};
  s.least_crosstalk = {1.2, 0.02, {1.16, 1.24}, -37, -35};
  s.phase_match.why = "the shear has no quadrature part";
  s.balance.from_levels_db = 0.42;
  s.balance.u_from_levels_db = 0.3;
  s.not_correctable = {-33.3, -34.4, 0.123};
  s.steps = {example_step("low.wav", -2), example_step("middle.wav", 0), example_step("high.wav", 2)};
  s.steps[1].flags = {evenwall::StepFlag::kStepOff};
  for (int i = -20; i <= 20; ++i) {
    s.curves.tilt_deg.push_back(0.1 * i);
    s.curves.right_into_left_db.push_back(-30 - 0.3 * i);
    s.curves.left_into_right_db.push_back(-30 + 0.3 * i);
  }
  s.shim = {0, 1.10432, 0.2448, evenwall::Side::kSpindleSide, evenwall::Side::kOuterSide};
  s.uncertainty = {{"gauge", 0.02, 3.0, false}, {"signal scatter", 0.0067, std::nullopt, false}};
  s.warnings = {{evenwall::WarningCode::kFewSteps, "two tilts only"}};
  return s;
}

/// A turn of −0.87° from the step high.wav.
inline evenwall::Now example_now() {
  evenwall::Now now;
  now.capture = "high.wav";
  now.turn_deg = -0.87;
  now.u_deg = 0.015;
  now.interval95_deg = {-0.9, -0.84};
  now.direction = evenwall::TurnDirection::kAnticlockwise;
  now.height_mm = 0.19286;
  now.place_shim_at = evenwall::Side::kSpindleSide;
  return now;
}
