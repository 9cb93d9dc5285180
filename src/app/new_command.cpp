// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/format.h>

#include "app/commands.hpp"
#include "app/console.hpp"
#include "app/new_session.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "storage/new_files.hpp"

namespace evenwall::internal::app {

int run_new(const NewCommand& command) {
  Console console(command.common.quiet ? Chatter::kQuiet : Chatter::kNormal);
  if (command.folder.empty()) throw Error(ErrorKind::kInput, "the name of the folder is empty. Nothing was written. Name a folder.");
  storage::refuse_to_replace(command.folder, {"steps.csv", "session.json"});
  storage::NewFiles made(command.folder);
  made.add("steps.csv", new_step_log());
  made.add("session.json", new_session_file());
  made.keep();
  const std::string folder = base::escaped(command.folder);
  console.out(
      fmt::format("{}: steps.csv and session.json were written. State the facts of the session in session.json, record at three tilts or "
                  "more, and add a row to steps.csv for each recording.\n",
                  folder));
  return kExitAnswered;
}

}  // namespace evenwall::internal::app
