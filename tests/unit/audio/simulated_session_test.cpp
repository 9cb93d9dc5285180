// SPDX-License-Identifier: GPL-3.0-or-later
#include <algorithm>

#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "unit/documents/sample_documents.hpp"

using namespace evenwall;

TEST_CASE("A simulated session is written as a folder that can be read as a session") {
  const TempFolder folder;
  Scenario scenario = random_scenario(3, 1.0);
  scenario.units_per_deg = 4;
  scenario.session = full_facts();
  const SimulatedSession session(scenario, 11);
  write_simulated_session(session, 11, folder / "new/session");
  const auto log = read_step_log(folder / "new/session/steps.csv");
  CHECK(log.warnings.empty());
  REQUIRE(log.rows.size() == scenario.steps.size());
  for (std::size_t i = 0; i < log.rows.size(); ++i) {
    const auto& entry = std::get<LogEntry>(log.rows[i]);
    CHECK(entry.tilt_units == scenario.steps[i].tilt_deg * 4);
    const auto capture = open_capture((folder / "new/session") / entry.capture);
    CHECK(capture.warnings.empty());
    CHECK(capture.audio->frames() == session.capture(i)->frames());
  }
  const auto facts = read_session_file(folder / "new/session/session.json").facts;
  CHECK(facts.gauge_u_deg == full_facts().gauge_u_deg);
  CHECK(facts.other_texts == full_facts().other_texts);
  CHECK(schema_fault("truth", folder.read("new/session/truth.json")) == "");
  CHECK(fs::exists(folder / "new/session/step-01.wav"));
  for (const fs::directory_entry& file : fs::directory_iterator(folder / "new/session")) {
    const auto named = simulated_session_files(session);
    CHECK(std::count(named.begin(), named.end(), file.path().filename().string()) == 1);
  }
}
