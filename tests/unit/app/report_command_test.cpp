// SPDX-License-Identifier: GPL-3.0-or-later
#include <fstream>
#include <sstream>

#include "app/commands.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

ReportCommand command_for(const fs::path& document, const fs::path& page) {
  ReportCommand command;
  command.document = document.string();
  command.common.output = page.string();
  command.common.quiet = true;
  return command;
}

}  // namespace

TEST_CASE("report writes a whole page and does not change the document") {
  const TempFolder folder;
  const std::string json = to_json(example_solution());
  const fs::path document = folder.write("solution.json", json);
  const fs::path page = document.parent_path() / "page.html";
  CHECK(run_report(command_for(document, page)) == 0);
  std::stringstream text;
  text << std::ifstream(page).rdbuf();
  CHECK(text.str().find("+1.104° (95 % interval +1.063° to +1.146°)") != std::string::npos);
  CHECK(text.str().find("</html>") != std::string::npos);
  CHECK(read_text(document, 1U << 20U) == json);
}

TEST_CASE("report writes no page from another document than a solution") {
  const TempFolder folder;
  const fs::path document = folder.write("reading.json", R"({"schema": "evenwall/reading/1"})");
  const fs::path page = document.parent_path() / "page.html";
  CHECK_THROWS_AS(run_report(command_for(document, page)), Error);
  CHECK_FALSE(fs::exists(page));
}
