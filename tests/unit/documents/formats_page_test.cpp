// SPDX-License-Identifier: GPL-3.0-or-later
// Checks that the examples of docs/formats.md are read by the code they describe.
#include <vector>

#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "unit/documents/sample_documents.hpp"

using namespace evenwall;

namespace {

/// The indented blocks of the page under one heading, without their indent.
std::vector<std::string> examples_under(const std::string& heading) {
  const std::string page = read_text(fs::path(EVENWALL_SOURCE_DIR) / "docs/formats.md", 1 << 20);
  const auto start = page.find("\n## " + heading + "\n");
  REQUIRE(start != std::string::npos);
  std::istringstream section(page.substr(start + 4, page.find("\n## ", start + 4) - start - 4));
  std::vector<std::string> blocks;
  bool inside = false, in_part = false;
  for (std::string line; std::getline(section, line); inside = line.starts_with("    ")) {
    if (!line.starts_with("    ")) continue;
    const bool is_part = !inside && line.starts_with("    \"");  // an excerpt of a document
    if (is_part) in_part = true;
    if (!inside && !is_part) blocks.emplace_back(), in_part = false;
    if (in_part) continue;
    blocks.back() += line.substr(4) + "\n";
  }
  return blocks;
}

std::string one_line(std::string text) {
  std::erase(text, '\n');
  return text;
}

}  // namespace

TEST_CASE("The examples of the formats page are read without a warning") {
  const TempFolder folder;
  const auto log = read_step_log(folder.write("steps.csv", examples_under("steps.csv").at(0)));
  CHECK(log.warnings.empty());
  REQUIRE(log.rows.size() == 3);
  CHECK(std::get<LogEntry>(log.rows[1]).note == "as the \"old\" shim had it");
  const auto session = read_session_file(folder.write("session.json", examples_under("session.json").at(0)));
  CHECK(session.warnings.empty());
  CHECK(session.facts.bands.size() == 4);
  CHECK(readings_from_jsonl(examples_under("evenwall/reading/1").at(0), "r").at(0).step.error());
  CHECK(solution_from_json(examples_under("evenwall/solution/1").at(0), "s").least_crosstalk.tilt_deg == 0.42);
  const std::string calibration = one_line(examples_under("evenwall/calibration/1").at(0));
  CHECK(calibration_from_json(calibration, "c").points.size() == 1);
  CHECK(schema_fault("calibration", calibration) == "");
  const std::string survey = one_line(examples_under("evenwall/survey/1").at(0));
  CHECK(survey_from_json(survey, "s").records.size() == 1);
  CHECK(schema_fault("survey", survey) == "");
  const std::string scenario = examples_under("evenwall/scenario/1").at(0);
  CHECK(scenario_from_json(scenario, "s").steps.size() == 3);
  CHECK(schema_fault("scenario", one_line(scenario)) == "");
  CHECK(schema_fault("truth", one_line(examples_under("evenwall/truth/1").at(0))) == "");
}
