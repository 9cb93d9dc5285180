// SPDX-License-Identifier: GPL-3.0-or-later
// Writes and reads evenwall/solution/1.
#include <fmt/format.h>

#include "documents/sha256_text.hpp"
#include "documents/solution_fields.hpp"
#include "evenwall/files.hpp"

namespace evenwall::internal::documents {

template <typename Field>
void describe(Field& field, Like<Solution>) {
  field("source", &Solution::source);
  field("session", &Solution::session);
  field("frequency_hz", &Solution::frequency_hz);
  field("options", &Solution::options);
  field("now", &Solution::now);
  field("set_to", &Solution::set_to);
  field("verdict", &Solution::verdict);
  field("corrections", &Solution::corrections);
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
  field("band", &Solution::band);
  field("trade_off", &Solution::trade_off);
  field("nearest_setting", &Solution::nearest_setting);
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

/// Whether the turn that remains has all its numbers. A page shows it whole or not at all.
bool is_complete(const Json& document) {
  const Json* const now = find_member(document, "now");
  const auto has_number = [&](const char* key) {
    const Json* const at = now == nullptr ? nullptr : find_member(*now, key);
    return at != nullptr && at->is_number();
  };
  const Json* const interval = now == nullptr ? nullptr : find_member(*now, "interval95_deg");
  const bool has_interval =
      interval != nullptr && interval->is_array() && interval->size() == 2 && (*interval)[0].is_number() && (*interval)[1].is_number();
  return has_number("turn_deg") && has_number("u_deg") && has_interval;
}

/// A step has one SHA-256, or two if it was joined from two recordings.
void require_hashes(const Solution& solution, const Place& place) {
  for (std::size_t i = 0; i < solution.steps.size(); ++i) {
    if (const auto& hash = solution.steps[i].audio_sha256) require_sha256(*hash, 2, place / "steps" / i / "audio_sha256");
  }
  if (solution.as_found && solution.as_found->audio_sha256)
    require_sha256(*solution.as_found->audio_sha256, 2, place / "as_found" / "audio_sha256");
}

/// Removes these keys where they are null.
void drop_absent(Json& object, std::initializer_list<const char*> keys) {
  if (!object.is_object()) return;
  for (const char* key : keys) {
    const Json* const value = find_member(object, key);
    if (value != nullptr && value->is_null()) object.erase(key);
  }
}

void drop_absent_keys(Json& document) {
  for (const char* const list : {"steps", "verification"}) {
    for (Json& step : document[list]) drop_absent(step, {"audio_sha256", "from_s", "to_s"});
  }
  for (const char* const object : {"as_found", "now"}) drop_absent(document[object], {"audio_sha256", "from_s", "to_s"});
  drop_absent(document["recommended"], {"towards_equal", "towards_band", "from_capture"});
  drop_absent(document["set_to"], {"from_capture"});
  drop_absent(document, {"nearest_setting"});
}

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
  require_hashes(solution, place);
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
  drop_absent_keys(document);
  document["phase_match"].erase("crosstalk_db");
  return json_line(document);
}

Solution full_solution_from_json(std::string_view text, const std::string& name) {
  using namespace internal::documents;
  const Place place{name, "", "solution"};
  const Json document = parse_json(text, name);
  Solution solution = read_solution(document, place, Strictness::kPage);
  if (solution.now && !is_complete(document)) solution.now.reset();
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
