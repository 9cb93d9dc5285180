// SPDX-License-Identifier: GPL-3.0-or-later
// Writes the files of a simulated session into a folder.
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <list>

#include "audio/write_capture.hpp"
#include "evenwall/files.hpp"
#include "evenwall/words.hpp"
#include "storage/descriptor.hpp"
#include "storage/unfinished.hpp"
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

/// The files that this run has put into the folder, and the folders that it made. All are removed again unless keep() is called.
class SessionInMaking {
 public:
  explicit SessionInMaking(const fs::path& folder) : folder_(folder) { make(folder); }
  SessionInMaking(const SessionInMaking&) = delete;
  SessionInMaking& operator=(const SessionInMaking&) = delete;
  ~SessionInMaking() = default;

  void add(const char* name, const std::string& text) {
    storage::WholeFile file(folder_ / name);
    file.write(text);
    add(file, folder_ / name);
  }
  void add(storage::WholeFile& file, const fs::path& path) {
    if (file.is_direct()) storage::refuse(storage::shown(path), "this is not a regular file. Name another folder.");
    made_.emplace_front(path.string()).holds(file.identity());
    if (!file.commit_as_new()) storage::refuse(storage::shown(path), "another program has made this file meanwhile. Name another folder.");
  }
  void keep() {
    for (storage::Unfinished& made : made_) made.keep();
  }

 private:
  void make(const fs::path& folder) {
    std::error_code ignored;
    // The root is its own parent. A system that refuses to examine it would otherwise be asked without end.
    if (folder.empty() || folder == folder.parent_path() || fs::is_directory(folder, ignored)) return;
    make(folder.parent_path());
    made_.emplace_front(folder.string());
    const storage::Making making;
    if (::mkdir(folder.c_str(), 0777) != 0) {
      const int error_number = errno;
      if (!fs::is_directory(folder, ignored)) refuse(error_number);
      return;
    }
    struct stat status {};
    if (::lstat(folder.c_str(), &status) != 0) {
      const int error_number = errno;
      ::rmdir(folder.c_str());  // made a moment ago; a folder without an identity would not be removed later
      refuse(error_number);
    }
    made_.front().holds(storage::identity_of(status));
  }

  [[noreturn]] void refuse(int error_number) const {
    storage::refuse(storage::shown(folder_), "the folder cannot be made: " + storage::errno_text(error_number));
  }

  fs::path folder_;
  std::list<storage::Unfinished> made_;  // the newest first and removed in this order: files before their folders
};

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
  SessionInMaking made(folder);
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
