// SPDX-License-Identifier: GPL-3.0-or-later
// Writes and reads evenwall/survey/1.
#include <fmt/format.h>

#include <cmath>

#include "documents/json_values.hpp"
#include "evenwall/files.hpp"

namespace evenwall::internal::documents {

template <typename Field>
void describe(Field& field, Like<SurveySpread>) {
  field("cartridge", &SurveySpread::cartridge);
  field("record", &SurveySpread::record);
  field("residual", &SurveySpread::residual);
}

template <typename Field>
void describe(Field& field, Like<EqualCrosstalkOnRecord>) {
  field("record", &EqualCrosstalkOnRecord::record);
  field("tilt_deg", &EqualCrosstalkOnRecord::tilt_deg);
}

template <typename Field>
void describe(Field& field, Like<SurveyedCartridge>) {
  field("name", &SurveyedCartridge::name);
  field("tilt_deg", &SurveyedCartridge::tilt_deg);
  field("u_deg", &SurveyedCartridge::u_deg);
  field("interval95_deg", &SurveyedCartridge::interval95_deg);
  field("degrees_of_freedom", &SurveyedCartridge::degrees_of_freedom);
  field("solutions", &SurveyedCartridge::solutions);
  field("equal_crosstalk", &SurveyedCartridge::equal_crosstalk);
}

template <typename Field>
void describe(Field& field, Like<SurveyedRecord>) {
  field("name", &SurveyedRecord::name);
  field("record", &SurveyedRecord::record);
  field("record_side", &SurveyedRecord::record_side);
  field("cut_error_deg", &SurveyedRecord::cut_error_deg);
  field("u_deg", &SurveyedRecord::u_deg);
  field("interval95_deg", &SurveyedRecord::interval95_deg);
  field("degrees_of_freedom", &SurveyedRecord::degrees_of_freedom);
  field("solutions", &SurveyedRecord::solutions);
  field("part", &SurveyedRecord::part);
}

template <typename Field>
void describe(Field& field, Like<SurveyDrift>) {
  field("deg_per_year", &SurveyDrift::deg_per_year);
  field("u_deg_per_year", &SurveyDrift::u_deg_per_year);
  field("interval95_deg_per_year", &SurveyDrift::interval95_deg_per_year);
  field("degrees_of_freedom", &SurveyDrift::degrees_of_freedom);
  field("p_value", &SurveyDrift::p_value);
  field("solutions", &SurveyDrift::solutions);
  field("first_date", &SurveyDrift::first_date);
  field("last_date", &SurveyDrift::last_date);
}

template <typename Field>
void describe(Field& field, Like<SurveyedGroup>) {
  field("name", &SurveyedGroup::name);
  field("mean_deg", &SurveyedGroup::mean_deg);
  field("u_mean_deg", &SurveyedGroup::u_mean_deg);
  field("interval95_mean_deg", &SurveyedGroup::interval95_mean_deg);
  field("spread_cartridge_deg", &SurveyedGroup::spread_cartridge_deg);
  field("cartridges", &SurveyedGroup::cartridges);
  field("solutions", &SurveyedGroup::solutions);
}

template <typename Field>
void describe(Field& field, Like<BadSolution>) {
  field("solution", &BadSolution::solution);
  field("cartridge", &BadSolution::cartridge);
  field("record", &BadSolution::record);
  field("tilt_deg", &BadSolution::tilt_deg);
  field("expected_deg", &BadSolution::expected_deg);
  field("standardised_residual", &BadSolution::standardised_residual);
}

template <typename Field>
void describe(Field& field, Like<Survey>) {
  field("mean_deg", &Survey::mean_deg);
  field("u_mean_deg", &Survey::u_mean_deg);
  field("interval95_mean_deg", &Survey::interval95_mean_deg);
  field("mean_degrees_of_freedom", &Survey::mean_degrees_of_freedom);
  field("spread_deg", &Survey::spread_deg);
  field("u_records_mean_deg", &Survey::u_records_mean_deg);
  field("solutions", &Survey::solutions);
  field("cartridges", &Survey::cartridges);
  field("records", &Survey::records);
  field("drift", &Survey::drift);
  field("grouped_by", &Survey::grouped_by);
  field("groups", &Survey::groups);
  field("bad_solutions", &Survey::bad_solutions);
  field("warnings", &Survey::warnings);
}

namespace {

void refuse_missing(const Json& object, const Place& place, std::initializer_list<const char*> keys) {
  if (!object.is_object()) place.refuse_type(object, "an object");
  for (const char* key : keys) {
    if (find_member(object, key) == nullptr) (place / std::string_view(key)).refuse("is missing. Survey the archive again.");
  }
}

/// Checks that each cutting-azimuth error has an uncertainty, because `solve --record-correction` needs both.
void check_records(const Survey& survey, const Place& place) {
  for (std::size_t i = 0; i < survey.records.size(); ++i) {
    const SurveyedRecord& record = survey.records[i];
    if (record.cut_error_deg && !record.u_deg)
      (place / "records" / i / "u_deg").refuse("is missing, but a cutting-azimuth error is given. Survey the archive again.");
  }
}

}  // namespace
}  // namespace evenwall::internal::documents

namespace evenwall {

std::string to_json(const Survey& survey) {
  using namespace internal::documents;
  Json document = new_document("survey");
  put_member(document, "made_by", survey.made_by ? json_of(*survey.made_by) : made_by());
  document.update(json_of(survey));
  return json_line(document);
}

}  // namespace evenwall

namespace evenwall::internal::documents {

namespace {

Survey read_survey(const Json& document, const Place& place, Strictness strictness) {
  require_schema(document, place, "survey", SchemaKey::kRequired);
  refuse_missing(document, place, {"mean_deg", "spread_deg", "records"});
  const Json& mean = *find_member(document, "mean_deg");
  if (!mean.is_number()) (place / "mean_deg").refuse_type(mean, "a number");
  const Json& records = *find_member(document, "records");
  if (!records.is_array()) (place / "records").refuse_type(records, "a list");
  for (std::size_t i = 0; i < records.size(); ++i)
    refuse_missing(records[i], place / "records" / i, {"name", "record", "cut_error_deg", "u_deg"});
  Survey survey;
  read_json(document, place, strictness, survey);
  check_records(survey, place);
  if (const Json* const maker = find_member(document, "made_by"); maker != nullptr)
    read_json(*maker, place / "made_by", Strictness::kReadBack, survey.made_by);
  return survey;
}

}  // namespace
}  // namespace evenwall::internal::documents

namespace evenwall {

Survey survey_from_json(std::string_view text, const std::string& name) {
  using namespace internal::documents;
  return read_survey(parse_json(text, name), {name, "", "survey"}, Strictness::kReadBack);
}

Survey full_survey_from_json(std::string_view text, const std::string& name) {
  using namespace internal::documents;
  const Place place{name, "", "survey"};
  const Json document = parse_json(text, name);
  Survey survey = read_survey(document, place, Strictness::kPage);
  refuse_missing(document, place, {"solutions", "cartridges"});
  for (std::size_t i = 0; i < survey.cartridges.size(); ++i)
    refuse_missing((*find_member(document, "cartridges"))[i], place / "cartridges" / i, {"name", "tilt_deg"});
  if (survey.drift) {
    refuse_missing(*find_member(document, "drift"), place / "drift",
                   {"deg_per_year", "u_deg_per_year", "interval95_deg_per_year", "degrees_of_freedom", "p_value"});
  }
  return survey;
}

}  // namespace evenwall
