// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>

#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "unit/documents/sample_documents.hpp"

using namespace evenwall;

namespace {

std::string refused_solution(std::string_view text) {
  return refusal_of([&] { solution_from_json(text, "s.json"); });
}

}  // namespace

TEST_CASE("Solutions are written and read without a change of a byte, and fit the schema") {
  std::string lines;
  for (const Solution& solution : {full_solution(), Solution{}}) {
    const std::string text = to_json(solution);
    CHECK(to_json(solution_from_json(text, "s.json")) == text);
    lines += text + "\n";
  }
  CHECK(schema_fault("solution", lines) == "");
  const std::string text = to_json(full_solution());
  CHECK(text.starts_with(R"({"schema":"evenwall/solution/1","made_by":{"program":"evenwall","version":)"));
  CHECK(holds(
      text,
      R"("options":{"gauge_u_deg":0.05,"calibration":"e.json","record_correction":{"survey":"archive.json","record":"T1, side A","cut_error_deg":0.08,"u_deg":0.03}},"now":{"capture":"c.wav",)"));
  CHECK(holds(text, R"("set_to":{"tilt_deg":0.34,"u_deg":0.025,"interval95_deg":[0.29,0.39],"tilt_units":null,)"));
  CHECK(holds(text, R"("verdict":{"state":"check","tolerance_deg":0.05,"text":"look"},"corrections":[{"what":"polarity",)"));
  CHECK(holds(text, R"("phase_match":{"determined":false,"tilt_deg":null,"u_deg":null,"interval95_deg":null,"why":)"));
  CHECK(holds(text, R"("right_into_left_band95_db":[[null,-29.0],)"));
}

TEST_CASE("A solution that counts from a recording names it, and others do not have the key") {
  CHECK_FALSE(holds(to_json(full_solution()), "from_capture"));
  Solution turn = full_solution();
  turn.recommended.from_capture = turn.set_to->from_capture = "last.wav";
  turn.recommended.scope = Scope::kTurnOnThisRecord;
  turn.steps.at(0).audit_deg.reset();
  const std::string text = to_json(turn);
  CHECK(schema_fault("solution", text + "\n") == "");
  CHECK(to_json(solution_from_json(text, "s.json")) == text);
  CHECK(solution_from_json(text, "s.json").recommended.from_capture == "last.wav");
  CHECK(holds(text, R"("audit_deg":null)"));
}

TEST_CASE("A solution with only the keys that a survey needs is read, and the absent values stay unknown") {
  const auto s = solution_from_json(
      R"({"schema":"evenwall/solution/1","session":{"cartridge":"A","record":"R"},"least_crosstalk":{"tilt_deg":0.5,"u_deg":null},"later":1})",
      "s.json");
  CHECK(s.session.cartridge == "A");
  CHECK(s.least_crosstalk.tilt_deg == 0.5);
  CHECK(std::isnan(s.least_crosstalk.u_deg));
  CHECK(std::isnan(s.recommended.tilt_deg));
  CHECK_FALSE(s.equal_crosstalk.determined);
}

TEST_CASE("An absent key of an object is unknown, and the keys of an absent object have their default values") {
  const auto s = solution_from_json(
      R"({"schema":"evenwall/solution/1","least_crosstalk":{"tilt_deg":0.5},"shim":{"from_tilt_deg":1},"verification":[{"capture":"a.wav"}]})",
      "s.json");
  CHECK(std::isnan(s.frequency_hz));
  CHECK(std::isnan(s.least_crosstalk.right_into_left_db));
  CHECK(std::isnan(s.least_crosstalk.interval95_deg[0]));
  CHECK(std::isnan(s.recommended.interval95_deg[1]));
  CHECK(std::isnan(s.shim.move_deg));
  CHECK(std::isnan(s.verification.at(0).tilt_deg));
  CHECK(s.verification.at(0).interval95_right_into_left_db == Interval{0, 0});
  CHECK(s.tilt_response.degrees_per_unit == 1);
  CHECK(s.tilt_response.u_degrees_per_unit == 0);
  CHECK(s.not_correctable.least_rms_crosstalk_db == 0);
  CHECK_FALSE(s.balance.from_levels_db);
}

TEST_CASE("Other documents are refused, and the message names what is missing or wrong") {
  CHECK(holds(refused_solution(R"({"schema":"evenwall/solution/2"})"), "\"evenwall/solution/2\" is of another version"));
  CHECK(holds(refused_solution(R"({"schema":"evenwall/survey/1"})"), "the schema is \"evenwall/survey/1\""));
  CHECK(holds(refused_solution(R"({"schema":"evenwall/solution/1"})"), "no key \"least_crosstalk\""));
  CHECK(holds(refused_solution(R"({"schema":"evenwall/solution/1","least_crosstalk":{}})"), "/least_crosstalk/tilt_deg is missing"));
  CHECK(holds(refused_solution(R"({"schema":1})"), "key /schema is a number"));
}

TEST_CASE("A page needs more keys than a survey, and the refusal names the missing key") {
  const std::string text = to_json(full_solution());
  const Solution solution = full_solution_from_json(text, "s.json");
  CHECK(to_json(solution) == text);
  const auto without = [&](const std::string& what, const std::string& by) {
    std::string changed = text;
    REQUIRE(changed.find(what) != std::string::npos);
    changed.replace(changed.find(what), what.size(), by);
    return refusal_of([&] { full_solution_from_json(changed, "s.json"); });
  };
  CHECK(holds(without("\"shim\":", "\"other\":"), "key /shim is missing"));
  CHECK(holds(without("\"not_correctable\":", "\"other\":"), "key /not_correctable is missing"));
  CHECK(holds(without("\"move_deg\":", "\"other\":"), "key /shim/move_deg is missing"));
}

TEST_CASE("The program that made a document stays named in it when the document is written again") {
  std::string text = to_json(full_solution());
  const std::string ours = "\"method_version\":3";
  text.replace(text.find(ours), ours.size(), "\"method_version\":7");
  CHECK(solution_from_json(text, "s.json").made_by->method_version == 7);
  CHECK(to_json(solution_from_json(text, "s.json")) == text);
}

TEST_CASE("A turn that lacks a number is not shown on a page") {
  std::string text = to_json(full_solution());
  CHECK(full_solution_from_json(text, "s.json").now);
  const auto without = [&](const std::string& part, const std::string& instead) {
    std::string changed = text;
    const auto at = changed.find(part, changed.find("\"now\":"));
    REQUIRE(at != std::string::npos);
    return full_solution_from_json(changed.replace(at, part.size(), instead), "s.json").now.has_value();
  };
  CHECK_FALSE(without("\"turn_deg\":-0.67,", ""));
  CHECK_FALSE(without("[-0.69,-0.65]", "[null,-0.65]"));
}

TEST_CASE("The SHA-256 of steps are written and read back, are absent if there are none, and are refused if malformed") {
  CHECK_FALSE(holds(to_json(full_solution()), "sha256"));
  Solution hashed = full_solution();
  const std::string a(64, 'a'), b(64, 'b');
  hashed.steps.at(0).audio_sha256 = a + " + " + b;
  hashed.steps.resize(2);
  hashed.as_found = AsFound{"found.wav", -25, -26, std::nullopt, b};
  const std::string text = to_json(hashed);
  CHECK(schema_fault("solution", text + "\n") == "");
  CHECK(to_json(solution_from_json(text, "s.json")) == text);
  CHECK(holds(text, "\"audio_sha256\":\"" + a + " + " + b + "\"},"));
  CHECK(holds(text, "\"balance_db\":null,\"audio_sha256\":\"" + b + "\"}"));
  const auto with = [&](std::string hash) {
    Solution wrong = hashed;
    wrong.steps.at(1).audio_sha256 = std::move(hash);
    return refused_solution(to_json(wrong));
  };
  CHECK(with(a) == "(nothing was refused)");
  CHECK(holds(with("a"), "key /steps/1/audio_sha256 is not a SHA-256"));
  hashed.as_found->audio_sha256 = "none";
  CHECK(holds(refused_solution(to_json(hashed)), "key /as_found/audio_sha256 is not a SHA-256"));
}
