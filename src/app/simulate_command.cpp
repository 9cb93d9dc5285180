// SPDX-License-Identifier: GPL-3.0-or-later
#include <fmt/format.h>

#include "app/commands.hpp"
#include "app/console.hpp"
#include "base/counted.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "storage/new_files.hpp"

namespace evenwall::internal::app {
namespace {

constexpr std::size_t kMostScenario_bytes = 1U << 20U;

}  // namespace

int run_simulate(const SimulateCommand& command) {
  Console console(command.common.quiet ? Chatter::kQuiet : Chatter::kNormal);
  const std::string& folder = command.common.output.value();
  const SimulatedSession session(scenario_from_json(read_text(command.scenario_path, kMostScenario_bytes), command.scenario_path),
                                 command.seed);
  storage::refuse_to_replace(folder, simulated_session_files(session));
  write_simulated_session(session, command.seed, folder);
  if (command.common.json) {
    console.out(to_json(session.truth(), session.scenario(), command.seed) + "\n");
  } else {
    console.out(fmt::format("{}: {}, steps.csv, session.json and truth.json of \"{}\" were written with seed {}.\n", base::escaped(folder),
                            base::counted(session.size(), "recording"), base::escaped(session.scenario().name), command.seed));
  }
  return kExitAnswered;
}

}  // namespace evenwall::internal::app
