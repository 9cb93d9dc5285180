// SPDX-License-Identifier: GPL-3.0-or-later
// The electronics' own crosstalk taken out of what was seen.
#pragma once

#include "evenwall/model.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// The calibration point nearest a frequency. Throws: Error(kData) where none lies within ±5 %.
CalibrationPoint calibration_at(const Calibration& calibration, double frequency_hz);

/// Electronics of which only the size of the crosstalk is known, either way, at any phase: nothing to take out, all of it in doubt.
CalibrationPoint unmeasured_electronics(double crosstalk_db, double frequency_hz);

/// Replaces ratios, levels and phases by what they would be behind ideal electronics: E⁻¹·M_seen, E with diagonal 1.
/// Source: docs/method.md, "Electronics".
void take_out_electronics(const CalibrationPoint& electronics, Observation& observation);

/// Standard uncertainty of an offset of the leaks that is the same at every step, real and imaginary part alike.
struct OffsetDoubt {
  double right_into_left = 0;
  double left_into_right = 0;
};

/// Of the electronics' own crosstalk.
OffsetDoubt electronics_doubt(const CalibrationPoint& electronics);

/// Of what the groove does at every step alike: root mean square over the steps.
OffsetDoubt groove_doubt(const std::vector<Observation>& observations);

/// Adds the doubt to the joint covariance.
void add_offset_doubt(const OffsetDoubt& doubt, TiltAccount& account);

}  // namespace evenwall::internal::solve
