// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/commands.hpp"
#include "app/console.hpp"
#include "app/output.hpp"
#include "app/progress.hpp"
#include "app/survey_csv.hpp"
#include "app/survey_input.hpp"
#include "base/counted.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "evenwall/report.hpp"
#include "evenwall/survey.hpp"
#include "evenwall/words.hpp"

namespace evenwall::internal::app {
namespace {

std::string document_of(SurveyView view, const Survey& survey, bool colour) {
  if (view == SurveyView::kJson) return to_json(survey) + "\n";
  return view == SurveyView::kCsv ? survey_csv(survey) : survey_text(survey, colour);
}

/// Writes the warnings that the text on the terminal does not show.
void tell_warnings(const Survey& survey, bool seen, Console& console) {
  for (const Warning& w : survey.warnings) {
    if (!seen && w.code != WarningCode::kSolutionUnreadable) console.warn(enum_name(w.code) + ": " + w.message);
  }
}

}  // namespace

int run_survey(const SurveyCommand& command) {
  Console console(command.common.quiet ? Chatter::kQuiet : Chatter::kNormal);
  Output output(console, command.common.output);
  if (command.common.output) check_output(*command.common.output, command.inputs);
  console.progress("reading solutions");
  Progress reading(console, "files");
  ArchiveInput archive = archive_from(command.inputs, command.grouped_by, reading.told());
  for (const std::string& complaint : archive.unreadable) console.complain(complaint);
  if (command.common.output) refuse_input_as_output(*command.common.output, archive.files);
  console.progress("solving " + base::counted(archive.solutions.size(), "solution"));
  Survey made = evenwall::survey(std::move(archive.solutions), {command.grouped_by});
  made.warnings.insert(made.warnings.begin(), archive.warnings.begin(), archive.warnings.end());
  tell_warnings(made, command.view == SurveyView::kText && !output.to_file(), console);
  const bool strictly_bad = command.common.strict && !made.warnings.empty();
  output.add(document_of(command.view, made, output.colour()));
  if (!strictly_bad) output.finish();
  if (strictly_bad) console.complain(strict_failure("", made.warnings.front()));
  return strictly_bad ? kExitNoAnswer : kExitAnswered;
}

}  // namespace evenwall::internal::app
