// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "support/survey_example.hpp"
#include "unit/documents/sample_documents.hpp"

using namespace evenwall;

namespace {

std::string refused_survey(const std::string& rest) {
  return refusal_of([&] { survey_from_json(R"({"schema":"evenwall/survey/1")" + rest + "}", "s.json"); });
}

}  // namespace

TEST_CASE("Surveys are written and read without a change of a byte, and fit the schema") {
  std::string lines;
  for (const Survey& survey : {example_survey(), Survey{}}) {
    const std::string text = to_json(survey);
    CHECK(to_json(survey_from_json(text, "s.json")) == text);
    lines += text + "\n";
  }
  CHECK(schema_fault("survey", lines) == "");
  const std::string text = to_json(example_survey());
  CHECK(holds(text, R"("spread_deg":{"cartridge":0.4,"record":0.1,"residual":0.03})"));
  CHECK(holds(text, R"({"name":"T1, side A","record":"T1","record_side":"A","cut_error_deg":-0.08,"u_deg":0.02,)"));
}

TEST_CASE("The schema refuses a survey with impossible numbers") {
  Survey wrong = example_survey();
  wrong.records[0].u_deg = -0.1;
  CHECK(schema_fault("survey", to_json(wrong)) != "");
  wrong = example_survey();
  wrong.drift->p_value = 2;
  CHECK(schema_fault("survey", to_json(wrong)) != "");
}

TEST_CASE("A survey that cannot give a correction is refused, and the message names the key") {
  const std::string head = R"(,"mean_deg":0.1,"spread_deg":{})";
  const std::string record = R"(,"records":[{"name":"T1","record":"T1","cut_error_deg":0.1,"u_deg":)";
  CHECK(refused_survey(head + record + "0.02}]") == "(nothing was refused)");
  CHECK(holds(refused_survey(head + record + "-0.02}]"), "/records/0/u_deg is -0.02"));
  CHECK(holds(refused_survey(head + record + "null}]"), "/records/0/u_deg is missing, but a cutting-azimuth error is given"));
  CHECK(holds(refused_survey(head + record + "\"x\"}]"), "/records/0/u_deg is a text"));
  CHECK(holds(refused_survey(head + R"(,"records":[{"name":"T1"}])"), "/records/0/record is missing"));
  CHECK(holds(refused_survey(head + R"(,"records":7)"), "/records is a number"));
  CHECK(holds(refused_survey(head), "/records is missing"));
  CHECK(holds(refused_survey(R"(,"mean_deg":null,"spread_deg":{},"records":[])"), "/mean_deg is null"));
  CHECK(holds(refusal_of([] { survey_from_json(R"({"schema":"evenwall/solution/1"})", "s.json"); }),
              "the schema is \"evenwall/solution/1\""));
}

TEST_CASE("A page of a survey needs its cartridges, and the refusal names the missing key") {
  const std::string text = to_json(example_survey());
  CHECK(to_json(full_survey_from_json(text, "s.json")) == text);
  const auto without = [&](const std::string& what) {
    std::string changed = text;
    REQUIRE(changed.find(what) != std::string::npos);
    changed.replace(changed.find(what), what.size(), "\"other\":");
    return refusal_of([&] { full_survey_from_json(changed, "s.json"); });
  };
  CHECK(holds(without("\"cartridges\":"), "s.json: key /cartridges is missing"));
  CHECK(holds(without("\"tilt_deg\":"), "/cartridges/0/tilt_deg is missing"));
  CHECK(holds(without("\"mean_deg\":"), "key /mean_deg is missing"));
}

TEST_CASE("The program that made a survey stays named in it when the survey is written again") {
  std::string text = to_json(example_survey());
  const std::string ours = "\"method_version\":3";
  text.replace(text.find(ours), ours.size(), "\"method_version\":7");
  CHECK(survey_from_json(text, "s.json").made_by->method_version == 7);
  CHECK(to_json(survey_from_json(text, "s.json")) == text);
}

TEST_CASE("The schema of a document is read even if its other keys are missing") {
  CHECK(schema_of(R"({"schema":"evenwall/survey/1"})", "s.json") == "evenwall/survey/1");
  for (const char* none : {"{}", "[]", R"({"schema":1})"}) CHECK_FALSE(schema_of(none, "s.json"));
  CHECK(holds(refusal_of([] { schema_of("{", "s.json"); }), "s.json"));
}
