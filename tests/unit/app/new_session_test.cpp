// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/new_session.hpp"

#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

TEST_CASE("the new log is read, and has no rows") {
  const TempFolder folder;
  folder.write("steps.csv", new_step_log());
  CHECK_THROWS_WITH(read_step_log(folder / "steps.csv"),
                    (folder / "steps.csv").string() + ": there are no steps below the header row. Add one row per step.");
  folder.write("steps.csv", new_step_log() + "a.wav,1\n");
  CHECK(read_step_log(folder / "steps.csv").rows.size() == 1);
}

TEST_CASE("the new session file states nothing") {
  const TempFolder folder;
  folder.write("session.json", new_session_file());
  const SessionFile file = read_session_file(folder / "session.json");
  CHECK(file.warnings.empty());
  CHECK(session_text(file.facts) == session_text(SessionFacts()));
}
