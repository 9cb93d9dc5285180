// SPDX-License-Identifier: GPL-3.0-or-later
// Writes the files of a simulated session into a folder.
#include <fmt/format.h>

#include "audio/write_capture.hpp"
#include "evenwall/files.hpp"
#include "evenwall/words.hpp"
#include "storage/descriptor.hpp"
#include "storage/new_files.hpp"
#include "storage/whole_file.hpp"

namespace evenwall::internal::audio {
namespace {

std::string capture_name(std::size_t index) { return fmt::format("step-{:02}.wav", index + 1); }

std::string step_log_text(const Scenario& scenario) {
  const double per_deg = scenario.units_per_deg.value_or(1);
  std::string text = fmt::format("capture,{},use\n", scenario.units_per_deg ? "tilt_units" : "tilt_deg");
  for (std::size_t i = 0; i < scenario.steps.size(); ++i) {
    text += fmt::format("{},{},{}\n", capture_name(i), scenario.steps[i].tilt_deg * per_deg, enum_name(scenario.steps[i].use));
  }
  return text;
}

}  // namespace
}  // namespace evenwall::internal::audio

namespace evenwall {

std::vector<std::string> simulated_session_files(const SimulatedSession& session) {
  std::vector<std::string> names{"steps.csv", "session.json", "truth.json"};
  for (std::size_t i = 0; i < session.size(); ++i) names.push_back(internal::audio::capture_name(i));
  return names;
}

void write_simulated_session(const SimulatedSession& session, std::uint64_t seed, const fs::path& folder) {
  using namespace internal::audio;
  internal::storage::NewFiles made(folder);
  const Scenario& scenario = session.scenario();
  for (std::size_t i = 0; i < session.size(); ++i) {
    const auto audio = session.capture(i);
    internal::storage::WholeFile file(folder / capture_name(i));
    write_capture(*audio, scenario.bits, file, internal::storage::shown(folder / capture_name(i)));
    made.add(file, folder / capture_name(i));
  }
  made.add("steps.csv", step_log_text(scenario));
  made.add("session.json", session_text(scenario.session));
  made.add("truth.json", to_json(session.truth(), scenario, seed) + "\n");
  made.keep();
}

}  // namespace evenwall
