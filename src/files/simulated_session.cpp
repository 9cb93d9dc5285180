#include <fmt/format.h>

#include "evenwall/files.hpp"
#include "files/descriptor.hpp"
#include "files/enum_names.hpp"
#include "files/facts_text.hpp"

namespace evenwall {
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

std::vector<std::string> simulated_session_files(const SimulatedSession& session) {
  std::vector<std::string> names{"steps.csv", "session.json", "truth.json"};
  for (std::size_t i = 0; i < session.size(); ++i) names.push_back(capture_name(i));
  return names;
}

void write_simulated_session(const SimulatedSession& session, std::uint64_t seed, const fs::path& folder) {
  std::error_code failed;
  fs::create_directories(folder, failed);
  if (failed) refuse(shown(folder), "cannot be made: " + errno_text(failed.value()));
  const Scenario& scenario = session.scenario();
  for (std::size_t i = 0; i < session.size(); ++i) {
    const auto audio = session.capture(i);
    write_capture(*audio, scenario.bits, folder / capture_name(i));
  }
  write_whole(folder / "steps.csv", step_log_text(scenario));
  write_whole(folder / "session.json", session_text(scenario.session));
  write_whole(folder / "truth.json", to_json(session.truth(), scenario, seed) + "\n");
}

}  // namespace evenwall
