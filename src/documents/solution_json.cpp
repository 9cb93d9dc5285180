// SPDX-License-Identifier: GPL-3.0-or-later
// Writes and reads evenwall/solution/1.
#include <fmt/format.h>

#include "documents/json_values.hpp"
#include "evenwall/files.hpp"

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
  field("calibration", &SolveOptions::calibration_path);
  field("record_correction", &SolveOptions::record_correction);
}

template <typename Field>
void describe(Field& field, Like<Solution>) {
  field("session", &Solution::session);
  field("frequency_hz", &Solution::frequency_hz);
  field("options", &Solution::options);
  field("recommended", &Solution::recommended);
  field("equal_crosstalk", &Solution::equal_crosstalk);
  field("least_crosstalk", &Solution::least_crosstalk);
  field("phase_match", &Solution::phase_match);
  field("balance", &Solution::balance);
  field("tilt_response", &Solution::tilt_response);
  field("not_correctable", &Solution::not_correctable);
  field("steps", &Solution::steps);
  field("curves", &Solution::curves);
  field("by_frequency", &Solution::by_frequency);
  field("as_found", &Solution::as_found);
  field("verification", &Solution::verification);
  field("contact", &Solution::contact);
  field("shim", &Solution::shim);
  field("uncertainty", &Solution::uncertainty);
  field("repeatability", &Solution::repeatability);
  field("next_step", &Solution::next_step);
  field("warnings", &Solution::warnings);
}

namespace {

constexpr const char* kSolveAgain = "is missing or not a number. Solve the session again.";

/// The numbers and objects that a page shows and cannot mark as unknown.
const std::vector<std::pair<const char*, std::vector<const char*>>> kNeededByPage{
    {"recommended", {"tilt_deg", "u_deg", "right_into_left_db", "left_into_right_db"}},
    {"not_correctable", {"least_rms_crosstalk_db"}},
    {"tilt_response", {"degrees_per_unit"}},
    {"shim", {"from_tilt_deg", "move_deg"}},
    {"balance", {}},
    {"steps", {}},
    {"uncertainty", {}}};

void drop_nulls(Json& object) {
  Json kept = Json::object();
  for (const auto& [key, value] : std::as_const(object).items()) {
    if (!value.is_null()) put_member(kept, key.c_str(), value);
  }
  object = std::move(kept);
}

Solution read_solution(const Json& document, const Place& place, Strictness strictness) {
  require_schema(document, place, "solution", SchemaKey::kRequired);
  const Json* const least = find_member(document, "least_crosstalk");
  if (least == nullptr) place.refuse("the document has no key \"least_crosstalk\". Solve the session again.");
  if (!least->is_object()) (place / "least_crosstalk").refuse_type(*least, "an object");
  if (find_member(*least, "tilt_deg") == nullptr) (place / "least_crosstalk/tilt_deg").refuse("is missing. Solve the session again.");
  // A number that the document lacks stays unknown and does not become zero: NaN is shown and written back as a missing number.
  constexpr double kUnknown = std::numeric_limits<double>::quiet_NaN();
  Solution solution;
  solution.recommended.tilt_deg = solution.recommended.u_deg = kUnknown;
  solution.recommended.right_into_left_db = solution.recommended.left_into_right_db = kUnknown;
  solution.recommended.interval95_deg = solution.least_crosstalk.interval95_deg = {kUnknown, kUnknown};
  read_json(document, place, strictness, solution);
  if (const Json* const maker = find_member(document, "made_by"); maker != nullptr)
    read_json(*maker, place / "made_by", Strictness::kReadBack, solution.made_by);
  return solution;
}

}  // namespace
}  // namespace evenwall::internal::documents

namespace evenwall {

std::string to_json(const Solution& solution) {
  using namespace internal::documents;
  Json document = new_document("solution");
  put_member(document, "made_by", solution.made_by ? json_of(*solution.made_by) : made_by());
  document.update(json_of(solution));
  drop_nulls(document["options"]);
  document["phase_match"].erase("crosstalk_db");
  return json_line(document);
}

Solution full_solution_from_json(std::string_view text, const std::string& name) {
  using namespace internal::documents;
  const Place place{name, "", "solution"};
  const Json document = parse_json(text, name);
  Solution solution = read_solution(document, place, Strictness::kPage);
  for (const auto& [key, numbers] : kNeededByPage) {
    const Json* const object = find_member(document, key);
    if (object == nullptr) (place / key).refuse(kSolveAgain);
    for (const char* number : numbers) {
      const Json* const at = find_member(*object, number);
      if (at == nullptr || !at->is_number()) (place / key / number).refuse(kSolveAgain);
    }
  }
  for (std::size_t i = 0; i < solution.uncertainty.size(); ++i) {
    if (find_member((*find_member(document, "uncertainty"))[i], "u_deg") == nullptr)
      (place / "uncertainty" / i / "u_deg").refuse(kSolveAgain);
  }
  return solution;
}

Solution solution_from_json(std::string_view text, const std::string& name) {
  using namespace internal::documents;
  return read_solution(parse_json(text, name), {name, "", "solution"}, Strictness::kReadBack);
}

}  // namespace evenwall
