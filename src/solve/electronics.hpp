// SPDX-License-Identifier: GPL-3.0-or-later
// Removes the electronics' own crosstalk from the measured ratios, levels and phases.
#pragma once

#include "evenwall/model.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// The calibration point nearest a frequency. Throws: Error(kData) if no point lies within ±5 %.
CalibrationPoint calibration_at(const Calibration& calibration, double frequency_hz);

/// Calibration for electronics with crosstalk of known magnitude (the same in both directions) but unknown phase. Nothing is subtracted;
/// the full magnitude counts as uncertainty.
CalibrationPoint unmeasured_electronics(double crosstalk_db, double frequency_hz);

/// Replaces ratios, levels and phases by those that ideal electronics would give: E⁻¹·M_seen, E with diagonal 1.
/// Source: docs/method.md, "Electronics".
void take_out_electronics(const CalibrationPoint& electronics, Observation& observation);

/// Standard uncertainty of an offset of the crosstalk that is the same at every step. It applies to the real and to the imaginary part.
struct OffsetDoubt {
  double right_into_left = 0;
  double left_into_right = 0;
};

/// Uncertainty of the electronics' own crosstalk.
OffsetDoubt electronics_doubt(const CalibrationPoint& electronics);

/// Uncertainty of the groove's effect, which is the same at every step: root mean square over the steps.
OffsetDoubt groove_doubt(const std::vector<Observation>& observations);

/// Adds the offset's uncertainty to the account's covariances.
void add_offset_doubt(const OffsetDoubt& doubt, TiltAccount& account);

}  // namespace evenwall::internal::solve
