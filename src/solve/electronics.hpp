// The electronics' own crosstalk taken out of what was seen.
#pragma once

#include "evenwall/model.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall {

/// The calibration point nearest a frequency. Throws: Error(kData) where none lies within ±5 %.
CalibrationPoint calibration_at(const Calibration& calibration, double frequency_hz);

/// Electronics of which only the size of the crosstalk is known, either way, at any phase: nothing to take out, all of it in doubt.
CalibrationPoint unmeasured_electronics(double crosstalk_db, double frequency_hz);

/// Replaces ratios, levels and phases by what they would be behind ideal electronics: E⁻¹·M_seen, E with diagonal 1.
/// Source: docs/method.md, "Electronics".
void take_out_electronics(const CalibrationPoint& electronics, Observation& observation);

/// Adds the doubt in the electronics' crosstalk to the joint covariance: an offset common to all steps.
void add_electronics_doubt(const CalibrationPoint& electronics, TiltAccount& account);

}  // namespace evenwall
