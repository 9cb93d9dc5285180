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
  TextTable table_{{{"what", "value"}}, true};
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
  inputs.words("sign of tilt", "positive is clockwise as seen from the front of the cartridge, spindle on the left");
}

void add_facts(Inputs& inputs, const SessionFacts& f) {
  inputs.fact("rig", f.rig);
  inputs.fact("operator", f.operator_name);
  inputs.fact("date", f.date);
  if (f.stylus) {
    inputs.fact("stylus profile", f.stylus->profile);
    inputs.number("stylus, radius of contact across the groove", f.stylus->major_radius_um, " µm");
    inputs.number("stylus, most tilt", f.stylus->tilt_limit_deg, "°");
    inputs.number("stylus, upright at", f.stylus->upright_at_deg, "°");
  }
  if (!f.bands.empty()) inputs.words("bands on the record", band_list(f.bands));
  inputs.number("gauge, standard uncertainty", f.gauge_u_deg, "°");
  inputs.number("gauge's zero, standard uncertainty", f.gauge_zero_u_deg, "°");
  inputs.number("gauge's scale, standard uncertainty", f.gauge_scale_u, "");
  inputs.number("record's cut, standard uncertainty", f.record_u_deg, "°");
  inputs.number("crosstalk per tilt of a channel, standard uncertainty (share)", f.slope_u, "");
  inputs.number("level left over right, as cut", f.cut_level_difference_db, " dB");
  inputs.number("its standard uncertainty", f.cut_level_u_db, " dB");
  inputs.number("distance of the screws", f.hole_spacing_mm, " mm");
  inputs.number("span of the shim", f.shim_span_mm, " mm");
  inputs.number("speed", f.rpm, " rpm");
  inputs.number("tone (session)", f.frequency_hz, " Hz");
  inputs.number("crosstalk of the electronics, as stated", f.electronics_crosstalk_db, " dB");
  inputs.fact("electronics taken out (session)", f.calibration);
  for (const auto& [name, value] : f.other_texts) inputs.words(base::escaped(name), base::escaped(value));
}

void add_options(Inputs& inputs, const SolveOptions& o) {
  inputs.number("told to solve: tone", o.frequency_hz, " Hz");
  inputs.number("told to solve: gauge", o.gauge_u_deg, "°");
  inputs.number("told to solve: gauge's zero", o.gauge_zero_u_deg, "°");
  inputs.number("told to solve: record", o.record_u_deg, "°");
  inputs.number("told to solve: tilt limit", o.tilt_limit_deg, "°");
  inputs.number("told to solve: from tilt", o.from_tilt_deg, "°");
  inputs.fact("electronics taken out", o.calibration_path);
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
  inputs.words("method", "complex same-passage ratios of both channels, fitted over all steps; docs/method.md of the program");
  inputs.number("tone", solution.frequency_hz, " Hz");
  add_facts(inputs, solution.session);
  add_options(inputs, solution.options);
  return inputs.table();
}

TextTable survey_inputs_table(const Survey& survey) {
  Inputs inputs;
  add_maker(inputs, survey.made_by);
  inputs.words("method",
               "least-crosstalk tilts parted into crossed random effects of cartridge and record side, variances by restricted maximum "
               "likelihood; docs/method.md of the program");
  inputs.words("solutions the fit rests on", std::to_string(survey.solutions));
  inputs.words("solutions left out as contradicted", std::to_string(survey.bad_solutions.size()));
  inputs.number("degrees of freedom of the mean", survey.mean_degrees_of_freedom, "");
  inputs.number("the records' mean's own error, standard uncertainty", survey.u_records_mean_deg, "°");
  if (survey.drift) inputs.words("dated", base::escaped(survey.drift->first_date) + " to " + base::escaped(survey.drift->last_date));
  inputs.fact("grouped by", survey.grouped_by);
  return inputs.table();
}

}  // namespace evenwall::internal::report
