// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/format.h>

#include "app/commands.hpp"
#include "app/console.hpp"
#include "app/options.hpp"
#include "app/output.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "evenwall/report.hpp"

namespace evenwall::internal::app {
namespace {

std::string page_of(const std::string& text, const std::string& name) {
  const bool surveyed = schema_of(text, name).value_or("").starts_with("evenwall/survey/");
  try {
    return surveyed ? survey_page(full_survey_from_json(text, name)) : solution_page(full_solution_from_json(text, name));
  } catch (const Error& error) {
    if (error.kind() != ErrorKind::kData) throw;
    throw Error(ErrorKind::kData, base::escaped(name) + ": " + error.what());
  }
}

}  // namespace

int run_report(const ReportCommand& command) {
  Console console(command.common.quiet ? Chatter::kQuiet : Chatter::kNormal);
  if (command.common.output) check_output(*command.common.output, {command.document});
  const bool stream = command.document == "-";
  const std::string name = stream ? "standard input" : command.document;
  const std::string page =
      page_of(stream ? read_stream(kStandardInput, kMostText_bytes) : read_text(command.document, kMostText_bytes), name);
  if (page.find("id=\"no-charts\"") != std::string::npos) {
    console.warn(
        "charts are missing from the page, because gnuplot did not run. Install it (Debian: gnuplot-nox) and make the page again.");
    if (command.common.strict) return kExitNoAnswer;
  }
  Output output(console, command.common.output);
  output.add(page);
  output.finish();
  return kExitAnswered;
}

}  // namespace evenwall::internal::app
