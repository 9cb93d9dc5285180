// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/format.h>

#include "app/commands.hpp"
#include "app/console.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"

namespace evenwall::internal::app {
namespace {

constexpr std::size_t kMostScenario_bytes = 1U << 20U;

void refuse_to_replace(const std::vector<std::string>& names, const fs::path& folder) {
  for (const std::string& name : names) {
    std::error_code fault;
    if (fs::exists(fs::symlink_status(folder / name, fault))) {
      throw Error(ErrorKind::kInput, base::escaped(folder.string()) + ": the folder already holds a session (" + name +
                                         "). Nothing was written. Name another folder.");
    }
  }
}

}  // namespace

int run_simulate(const SimulateCommand& command) {
  Console console(command.common.quiet ? Chatter::kQuiet : Chatter::kNormal);
  const std::string& folder = command.common.output.value();
  const SimulatedSession session(scenario_from_json(read_text(command.scenario_path, kMostScenario_bytes), command.scenario_path),
                                 command.seed);
  refuse_to_replace(simulated_session_files(session), folder);
  write_simulated_session(session, command.seed, folder);
  if (command.common.json) {
    console.out(to_json(session.truth(), session.scenario(), command.seed) + "\n");
  } else {
    console.out(fmt::format("{}: {} recordings, steps.csv, session.json and truth.json of \"{}\" were written with seed {}.\n",
                            base::escaped(folder), session.size(), base::escaped(session.scenario().name), command.seed));
  }
  return kExitAnswered;
}

}  // namespace evenwall::internal::app
