// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/page_inputs.hpp"

#include <fmt/format.h>

#include <cmath>

#include "base/text.hpp"
#include "base/version.hpp"
#include "evenwall/words.hpp"

namespace evenwall::internal::report {
namespace {

class Inputs {
 public:
  void words(const std::string& name, const std::string& value) { table_.rows.push_back({name, value}); }
  void fact(const char* name, const std::optional<std::string>& value) {
    if (value) words(name, base::escaped(*value));
  }
  void number(const char* name, const OptionalNumber& value, const char* unit) {
    if (value && std::isfinite(*value)) words(name, fmt::format("{:g}{}", *value, unit));
  }
  [[nodiscard]] const TextTable& table() const { return table_; }

 private:
  TextTable table_{{{"input", "value"}}, true};
};

std::string band_list(const std::vector<Band>& bands) {
  std::string all;
  for (const Band band : bands) all += fmt::format("{}{}", all.empty() ? "" : ", ", enum_name(band));
  return all;
}

void add_maker(Inputs& inputs, const std::optional<MadeBy>& made_by) {
  if (!made_by) {
    inputs.words("made by", fmt::format("{} {}, method version {}", base::kProgram, base::kVersion, base::kMethodVersion));
  } else {
    const MadeBy& maker = *made_by;
    inputs.words("made by",
                 fmt::format("{} {}, method version {}", base::escaped(maker.program), base::escaped(maker.version), maker.method_version));
  }
  inputs.words("azimuth", "tilt angle of the cartridge, seen from the front with the spindle on the left; positive is clockwise");
}

void add_facts(Inputs& inputs, const SessionFacts& f) {
  inputs.fact("client", f.client);
  inputs.fact("workshop", f.workshop);
  inputs.fact("model of the cartridge", f.cartridge_model);
  inputs.fact("rig", f.rig);
  inputs.fact("operator", f.operator_name);
  inputs.fact("date", f.date);
  inputs.number("vertical tracking force", f.vtf_mn, " mN");
  inputs.fact("anti-skating", f.anti_skate);
  inputs.number("temperature", f.temperature_c, " °C");
  if (f.stylus) {
    inputs.fact("stylus profile", f.stylus->profile);
    inputs.number("stylus, radius of contact across the groove", f.stylus->major_radius_um, " µm");
    inputs.number("stylus, largest azimuth from upright", f.stylus->tilt_limit_deg, "°");
    inputs.number("stylus, azimuth at which it is upright", f.stylus->upright_at_deg, "°");
  }
  if (!f.bands.empty()) inputs.words("bands on the record", band_list(f.bands));
  inputs.fact("gauge, certificate", f.gauge_certificate);
  inputs.number("gauge, standard uncertainty", f.gauge_u_deg, "°");
  inputs.number("zero of the gauge, standard uncertainty", f.gauge_zero_u_deg, "°");
  inputs.number("scale of the gauge, relative standard uncertainty", f.gauge_scale_u, "");
  inputs.number("cutting azimuth and dish of the record, standard uncertainty", f.record_u_deg, "°");
  inputs.number("crosstalk of a channel per degree, relative standard uncertainty", f.slope_u, "");
  inputs.number("level of left over right, as cut", f.cut_level_difference_db, " dB");
  inputs.number("level as cut, standard uncertainty", f.cut_level_u_db, " dB");
  inputs.number("distance between the screws", f.hole_spacing_mm, " mm");
  inputs.number("span of the shim", f.shim_span_mm, " mm");
  inputs.number("speed", f.rpm, " rpm");
  inputs.number("frequency (session)", f.frequency_hz, " Hz");
  inputs.number("stated crosstalk of the electronics", f.electronics_crosstalk_db, " dB");
  inputs.fact("calibration of the electronics (session)", f.calibration);
  inputs.number("tolerance of the azimuth", f.tolerance_deg, "°");
  inputs.fact("notes", f.notes);
  for (const auto& [name, value] : f.other_texts) inputs.words(base::escaped(name), base::escaped(value));
}

void add_options(Inputs& inputs, const SolveOptions& o) {
  inputs.number("frequency (option)", o.frequency_hz, " Hz");
  inputs.number("gauge, standard uncertainty (option)", o.gauge_u_deg, "°");
  inputs.number("zero of the gauge, standard uncertainty (option)", o.gauge_zero_u_deg, "°");
  inputs.number("cutting azimuth and dish of the record, standard uncertainty (option)", o.record_u_deg, "°");
  inputs.number("largest azimuth from upright (option)", o.tilt_limit_deg, "°");
  inputs.number("azimuth before the move (option)", o.from_tilt_deg, "°");
  inputs.fact("calibration of the electronics, applied", o.calibration_path);
  if (o.record_correction) {
    const RecordCorrection& cut = *o.record_correction;
    inputs.words("cutting-azimuth error, subtracted", fmt::format("{:g}° (standard uncertainty {:g}°), of {} in {}", cut.cut_error_deg,
                                                                  cut.u_deg, base::escaped(cut.record), base::escaped(cut.survey)));
  }
}

}  // namespace

TextTable inputs_table(const Solution& solution) {
  Inputs inputs;
  add_maker(inputs, solution.made_by);
  inputs.words("method", "One model is fitted to the complex same-passage ratios of all steps. See docs/method.md of the program.");
  inputs.number("frequency", solution.frequency_hz, " Hz");
  add_facts(inputs, solution.session);
  add_options(inputs, solution.options);
  return inputs.table();
}

TextTable survey_inputs_table(const Survey& survey) {
  Inputs inputs;
  add_maker(inputs, survey.made_by);
  inputs.words("method",
               "The azimuths of least crosstalk are separated into crossed random effects of cartridge and record side. Restricted maximum "
               "likelihood gives the variances. See docs/method.md of the program.");
  inputs.words("solutions in the fit", std::to_string(survey.solutions));
  inputs.words("solutions excluded as contradicted", std::to_string(survey.bad_solutions.size()));
  inputs.number("degrees of freedom of the mean", survey.mean_degrees_of_freedom, "");
  inputs.number("mean cutting-azimuth error, standard uncertainty", survey.u_records_mean_deg, "°");
  if (survey.drift)
    inputs.words("dates of the solutions", base::escaped(survey.drift->first_date) + " to " + base::escaped(survey.drift->last_date));
  inputs.fact("grouped by", survey.grouped_by);
  return inputs.table();
}

}  // namespace evenwall::internal::report
