// SPDX-License-Identifier: GPL-3.0-or-later
// Names the members of a solution's parts in evenwall/solution/1.
#pragma once

#include "documents/band_fields.hpp"
#include "documents/json_values.hpp"

namespace evenwall::internal::documents {

template <typename Field>
void describe(Field& field, Like<Recommended>) {
  field("tilt_deg", &Recommended::tilt_deg);
  field("u_deg", &Recommended::u_deg);
  field("interval95_deg", &Recommended::interval95_deg);
  field("degrees_of_freedom", &Recommended::degrees_of_freedom);
  field("tilt_units", &Recommended::tilt_units);
  field("u_units", &Recommended::u_units);
  field("interval95_units", &Recommended::interval95_units);
  field("basis", &Recommended::basis);
  field("right_into_left_db", &Recommended::right_into_left_db);
  field("left_into_right_db", &Recommended::left_into_right_db);
  field("scope", &Recommended::scope);
  field("why", &Recommended::why);
  field("towards_equal", &Recommended::towards_equal);
  field("towards_band", &Recommended::towards_band);
  field("from_capture", &Recommended::from_capture);
}

template <typename Field>
void describe(Field& field, Like<Criterion>) {
  field("determined", &Criterion::determined);
  field("tilt_deg", &Criterion::tilt_deg);
  field("u_deg", &Criterion::u_deg);
  field("interval95_deg", &Criterion::interval95_deg);
  field("crosstalk_db", &Criterion::crosstalk_db);
  field("why", &Criterion::why);
}

template <typename Field>
void describe(Field& field, Like<Now>) {
  field("capture", &Now::capture);
  field("from", &Now::from);
  field("turn_deg", &Now::turn_deg);
  field("u_deg", &Now::u_deg);
  field("interval95_deg", &Now::interval95_deg);
  field("turn_units", &Now::turn_units);
  field("u_turn_units", &Now::u_turn_units);
  field("direction", &Now::direction);
  field("height_mm", &Now::height_mm);
  field("place_shim_at", &Now::place_shim_at);
  field("from_s", &Now::from_s);
  field("to_s", &Now::to_s);
}

template <typename Field>
void describe(Field& field, Like<SetTo>) {
  field("tilt_deg", &SetTo::tilt_deg);
  field("u_deg", &SetTo::u_deg);
  field("interval95_deg", &SetTo::interval95_deg);
  field("tilt_units", &SetTo::tilt_units);
  field("u_tilt_units", &SetTo::u_tilt_units);
  field("interval95_units", &SetTo::interval95_units);
  field("from_capture", &SetTo::from_capture);
}

template <typename Field>
void describe(Field& field, Like<Verdict>) {
  field("state", &Verdict::state);
  field("tolerance_deg", &Verdict::tolerance_deg);
  field("text", &Verdict::text);
}

template <typename Field>
void describe(Field& field, Like<Correction>) {
  field("what", &Correction::what);
  field("applies_to", &Correction::applies_to);
  field("from", &Correction::from);
  field("text", &Correction::text);
}

template <typename Field>
void describe(Field& field, Like<LeastCrosstalk>) {
  field("tilt_deg", &LeastCrosstalk::tilt_deg);
  field("u_deg", &LeastCrosstalk::u_deg);
  field("interval95_deg", &LeastCrosstalk::interval95_deg);
  field("right_into_left_db", &LeastCrosstalk::right_into_left_db);
  field("left_into_right_db", &LeastCrosstalk::left_into_right_db);
}

template <typename Field>
void describe(Field& field, Like<Balance>) {
  field("from_levels_db", &Balance::from_levels_db);
  field("u_from_levels_db", &Balance::u_from_levels_db);
  field("from_tilt_response_db", &Balance::from_tilt_response_db);
  field("u_from_tilt_response_db", &Balance::u_from_tilt_response_db);
  field("used", &Balance::used);
  field("interchannel_phase_deg", &Balance::interchannel_phase_deg);
  field("slope_db_per_deg", &Balance::slope_db_per_deg);
  field("preamplifier_db", &Balance::preamplifier_db);
  field("u_preamplifier_db", &Balance::u_preamplifier_db);
  field("cartridge_db", &Balance::cartridge_db);
  field("u_cartridge_db", &Balance::u_cartridge_db);
}

template <typename Field>
void describe(Field& field, Like<TiltResponse>) {
  field("degrees_per_unit", &TiltResponse::degrees_per_unit);
  field("u_degrees_per_unit", &TiltResponse::u_degrees_per_unit);
  field("sense", &TiltResponse::sense);
}

template <typename Field>
void describe(Field& field, Like<NotCorrectable>) {
  field("least_rms_crosstalk_db", &NotCorrectable::least_rms_crosstalk_db);
  field("shear_db", &NotCorrectable::shear_db);
  field("rotation_quadrature_deg", &NotCorrectable::rotation_quadrature_deg);
}

template <typename Field>
void describe(Field& field, Like<SolvedStep>) {
  field("capture", &SolvedStep::capture);
  field("tilt_deg", &SolvedStep::tilt_deg);
  field("tilt_units", &SolvedStep::tilt_units);
  field("logged", &SolvedStep::logged);
  field("tilt_from_signal_deg", &SolvedStep::tilt_from_signal_deg);
  field("audit_deg", &SolvedStep::audit_deg);
  field("u_audit_deg", &SolvedStep::u_audit_deg);
  field("used", &SolvedStep::used);
  field("flags", &SolvedStep::flags);
  field("right_into_left_db", &SolvedStep::right_into_left_db);
  field("left_into_right_db", &SolvedStep::left_into_right_db);
  field("right_into_left_phase_deg", &SolvedStep::right_into_left_phase_deg);
  field("left_into_right_phase_deg", &SolvedStep::left_into_right_phase_deg);
  field("balance_db", &SolvedStep::balance_db);
  field("distortion_left_percent", &SolvedStep::distortion_left_percent);
  field("distortion_right_percent", &SolvedStep::distortion_right_percent);
  field("audio_sha256", &SolvedStep::audio_sha256);
  field("from_s", &SolvedStep::from_s);
  field("to_s", &SolvedStep::to_s);
}

template <typename Field>
void describe(Field& field, Like<Curves>) {
  field("tilt_deg", &Curves::tilt_deg);
  field("right_into_left_db", &Curves::right_into_left_db);
  field("left_into_right_db", &Curves::left_into_right_db);
  field("right_into_left_band95_db", &Curves::right_into_left_band95_db);
  field("left_into_right_band95_db", &Curves::left_into_right_band95_db);
}

template <typename Field>
void describe(Field& field, Like<FrequencyResult>) {
  field("frequency_hz", &FrequencyResult::frequency_hz);
  field("equal_crosstalk_deg", &FrequencyResult::equal_crosstalk_deg);
  field("u_equal_crosstalk_deg", &FrequencyResult::u_equal_crosstalk_deg);
  field("least_crosstalk_deg", &FrequencyResult::least_crosstalk_deg);
  field("u_least_crosstalk_deg", &FrequencyResult::u_least_crosstalk_deg);
  field("right_into_left_db", &FrequencyResult::right_into_left_db);
  field("left_into_right_db", &FrequencyResult::left_into_right_db);
}

template <typename Field>
void describe(Field& field, Like<AsFound>) {
  field("capture", &AsFound::capture);
  field("right_into_left_db", &AsFound::right_into_left_db);
  field("left_into_right_db", &AsFound::left_into_right_db);
  field("balance_db", &AsFound::balance_db);
  field("audio_sha256", &AsFound::audio_sha256);
  field("from_s", &AsFound::from_s);
  field("to_s", &AsFound::to_s);
}

template <typename Field>
void describe(Field& field, Like<Verification>) {
  field("capture", &Verification::capture);
  field("tilt_deg", &Verification::tilt_deg);
  field("right_into_left_db", &Verification::right_into_left_db);
  field("left_into_right_db", &Verification::left_into_right_db);
  field("predicted_right_into_left_db", &Verification::predicted_right_into_left_db);
  field("predicted_left_into_right_db", &Verification::predicted_left_into_right_db);
  field("interval95_right_into_left_db", &Verification::interval95_right_into_left_db);
  field("interval95_left_into_right_db", &Verification::interval95_left_into_right_db);
  field("agrees", &Verification::agrees);
  field("from_s", &Verification::from_s);
  field("to_s", &Verification::to_s);
}

template <typename Field>
void describe(Field& field, Like<Contact>) {
  field("limit_deg", &Contact::limit_deg);
  field("inside", &Contact::inside);
  field("best_inside_deg", &Contact::best_inside_deg);
}

template <typename Field>
void describe(Field& field, Like<Shim>) {
  field("from_tilt_deg", &Shim::from_tilt_deg);
  field("move_deg", &Shim::move_deg);
  field("height_mm", &Shim::height_mm);
  field("raises", &Shim::raises);
  field("place_shim_at", &Shim::place_shim_at);
}

template <typename Field>
void describe(Field& field, Like<UncertaintyTerm>) {
  field("source", &UncertaintyTerm::source);
  field("u_deg", &UncertaintyTerm::u_deg);
  field("degrees_of_freedom", &UncertaintyTerm::degrees_of_freedom);
  field("common", &UncertaintyTerm::common);
}

template <typename Field>
void describe(Field& field, Like<Repeatability>) {
  field("u_deg", &Repeatability::u_deg);
  field("degrees_of_freedom", &Repeatability::degrees_of_freedom);
  field("lack_of_fit_p", &Repeatability::lack_of_fit_p);
}

template <typename Field>
void describe(Field& field, Like<NextStep>) {
  field("tilt_deg", &NextStep::tilt_deg);
  field("why", &NextStep::why);
  field("u_deg_after", &NextStep::u_deg_after);
}

template <typename Field>
void describe(Field& field, Like<RecordCorrection>) {
  field("survey", &RecordCorrection::survey);
  field("record", &RecordCorrection::record);
  field("cut_error_deg", &RecordCorrection::cut_error_deg);
  field("u_deg", &RecordCorrection::u_deg);
}

/// The options that were used; the matrix of a calibration stays in its own document.
template <typename Field>
void describe(Field& field, Like<SolveOptions>) {
  field("frequency_hz", &SolveOptions::frequency_hz);
  field("gauge_u_deg", &SolveOptions::gauge_u_deg);
  field("gauge_zero_u_deg", &SolveOptions::gauge_zero_u_deg);
  field("record_u_deg", &SolveOptions::record_u_deg);
  field("tilt_limit_deg", &SolveOptions::tilt_limit_deg);
  field("from_tilt_deg", &SolveOptions::from_tilt_deg);
  field("tolerance_deg", &SolveOptions::tolerance_deg);
  field("aim", &SolveOptions::aim);
  field("band", &SolveOptions::band);
  field("weighting", &SolveOptions::weighting);
  field("calibration", &SolveOptions::calibration_path);
  field("record_correction", &SolveOptions::record_correction);
}

}  // namespace evenwall::internal::documents
