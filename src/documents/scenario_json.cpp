// SPDX-License-Identifier: GPL-3.0-or-later
// Reads evenwall/scenario/1 and writes evenwall/truth/1.
#include <fmt/format.h>

#include "documents/json_values.hpp"
#include "evenwall/files.hpp"

namespace evenwall::internal::documents {

template <typename Field>
void describe(Field& field, Like<SimulatedBand>) {
  field("band", &SimulatedBand::band);
  field("signal", &SimulatedBand::signal);
  field("frequency_hz", &SimulatedBand::frequency_hz);
  field("frequency_to_hz", &SimulatedBand::frequency_to_hz);
  field("duration_s", &SimulatedBand::duration_s);
  field("level_dbfs", &SimulatedBand::level_dbfs);
  field("fade_s", &SimulatedBand::fade_s);
}

template <typename Field>
void describe(Field& field, Like<SimulatedRecord>) {
  field("rpm", &SimulatedRecord::rpm);
  field("bands", &SimulatedRecord::bands);
  field("cut_error_left_deg", &SimulatedRecord::cut_error_left_deg);
  field("cut_error_right_deg", &SimulatedRecord::cut_error_right_deg);
  field("cut_level_difference_db", &SimulatedRecord::cut_level_difference_db);
  field("wow_percent", &SimulatedRecord::wow_percent);
  field("warp_deg", &SimulatedRecord::warp_deg);
  field("warp_second_deg", &SimulatedRecord::warp_second_deg);
  field("flutter_percent", &SimulatedRecord::flutter_percent);
  field("speed_error_percent", &SimulatedRecord::speed_error_percent);
}

template <typename Field>
void describe(Field& field, Like<SimulatedResonance>) {
  field("frequency_hz", &SimulatedResonance::frequency_hz);
  field("q", &SimulatedResonance::q);
  field("right_into_left", &SimulatedResonance::right_into_left);
  field("left_into_right", &SimulatedResonance::left_into_right);
}

template <typename Field>
void describe(Field& field, Like<SimulatedCartridge>) {
  field("generator_error_left_deg", &SimulatedCartridge::generator_error_left_deg);
  field("generator_error_right_deg", &SimulatedCartridge::generator_error_right_deg);
  field("coupling_right_into_left", &SimulatedCartridge::coupling_right_into_left);
  field("coupling_left_into_right", &SimulatedCartridge::coupling_left_into_right);
  field("resonances", &SimulatedCartridge::resonances);
  field("gain_imbalance_db", &SimulatedCartridge::gain_imbalance_db);
  field("interchannel_phase_deg", &SimulatedCartridge::interchannel_phase_deg);
  field("left_delay_s", &SimulatedCartridge::left_delay_s);
  field("second_harmonic_percent", &SimulatedCartridge::second_harmonic_percent);
  field("third_harmonic_percent", &SimulatedCartridge::third_harmonic_percent);
  field("electronics", &SimulatedCartridge::electronics);
  field("channels_swapped", &SimulatedCartridge::channels_swapped);
  field("right_polarity_reversed", &SimulatedCartridge::right_polarity_reversed);
}

template <typename Field>
void describe(Field& field, Like<SimulatedNoise>) {
  field("surface_noise_db", &SimulatedNoise::surface_noise_db);
  field("clicks_per_s", &SimulatedNoise::clicks_per_s);
  field("click_peak_db", &SimulatedNoise::click_peak_db);
  field("rumble_db", &SimulatedNoise::rumble_db);
  field("hum_db", &SimulatedNoise::hum_db);
  field("hum_frequency_hz", &SimulatedNoise::hum_frequency_hz);
  field("dc_left", &SimulatedNoise::dc_left);
  field("dc_right", &SimulatedNoise::dc_right);
}

template <typename Field>
void describe(Field& field, Like<SimulatedStep>) {
  field("tilt_deg", &SimulatedStep::tilt_deg);
  field("use", &SimulatedStep::use);
}

template <typename Field>
void describe(Field& field, Like<Scenario>) {
  field("name", &Scenario::name);
  field("sample_rate_hz", &Scenario::sample_rate_hz);
  field("bits", &Scenario::bits);
  field("record", &Scenario::record);
  field("cartridge", &Scenario::cartridge);
  field("noise", &Scenario::noise);
  field("steps", &Scenario::steps);
  field("gauge_error_u_deg", &Scenario::gauge_error_u_deg);
  field("gauge_zero_deg", &Scenario::gauge_zero_deg);
  field("gauge_scale", &Scenario::gauge_scale);
  field("units_per_deg", &Scenario::units_per_deg);
  field("session", &Scenario::session);
}

template <typename Field>
void describe(Field& field, Like<SimulatedTruth::AtStep>) {
  field("logged_deg", &SimulatedTruth::AtStep::logged_deg);
  field("true_tilt_deg", &SimulatedTruth::AtStep::true_tilt_deg);
  field("right_into_left_same_passage", &SimulatedTruth::AtStep::right_into_left_same_passage);
  field("left_into_right_same_passage", &SimulatedTruth::AtStep::left_into_right_same_passage);
}

template <typename Field>
void describe(Field& field, Like<SimulatedTruth>) {
  field("least_crosstalk_deg", &SimulatedTruth::least_crosstalk_deg);
  field("equal_crosstalk_deg", &SimulatedTruth::equal_crosstalk_deg);
  field("phase_match_deg", &SimulatedTruth::phase_match_deg);
  field("frequency_hz", &SimulatedTruth::frequency_hz);
  field("balance_db", &SimulatedTruth::balance_db);
  field("interchannel_phase_deg", &SimulatedTruth::interchannel_phase_deg);
  field("crosstalk_right_into_left_db", &SimulatedTruth::crosstalk_right_into_left_db);
  field("crosstalk_left_into_right_db", &SimulatedTruth::crosstalk_left_into_right_db);
  field("steps", &SimulatedTruth::steps);
}

}  // namespace evenwall::internal::documents

namespace evenwall {

std::string to_json(const SimulatedTruth& truth, const Scenario& scenario, std::uint64_t seed) {
  using namespace internal::documents;
  Json document = new_document("truth");
  put_member(document, "made_by", made_by());
  put_member(document, "seed", seed);
  document.update(json_of(truth));
  Json simulated = new_document("scenario");
  simulated.update(json_of(scenario));
  put_member(document, "scenario", std::move(simulated));
  return json_line(document);
}

Scenario scenario_from_json(std::string_view text, const std::string& name) {
  using namespace internal::documents;
  const Json document = parse_json(text, name);
  require_schema(document, {name, "", "scenario"}, "scenario", SchemaKey::kOptional);
  Scenario scenario;
  read_json(document, {name, "", "scenario"}, Strictness::kHandWritten, scenario);
  if (scenario.bits != 16 && scenario.bits != 24 && scenario.bits != 32) {
    Place{name, "/bits", "scenario"}.refuse(fmt::format("is {}. Choose 16 or 24 (PCM), or 32 (float).", scenario.bits));
  }
  return scenario;
}

}  // namespace evenwall
