// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/session_input.hpp"

#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/measurement_of.hpp"
#include "support/memory_source.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;
namespace fs = std::filesystem;

namespace {

constexpr double kRate_hz = 48000;

/// A folder that is removed at the end of the test.
struct Folder {
  fs::path path;

  explicit Folder(const std::string& name)
      : path(fs::temp_directory_path() / ("evenwall-session-input-" + name + "-" + std::to_string(::getpid()))) {
    fs::remove_all(path);
    fs::create_directories(path);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  ~Folder() { fs::remove_all(path); }

  void text(const std::string& name, const std::string& content) const { std::ofstream(path / name) << content; }

  /// Writes left-only and right-only bands with a crosstalk of `leak` in each direction.
  void capture(const std::string& name, double leak) const {
    MemorySource source =
        Canvas(kRate_hz, 7).tone(0.5, 2.5, 1000, 0.2, 0.2 * leak).tone(4, 2.5, 1000, -0.2 * leak, 0.2).noise(1e-4, 5).source();
    write_capture(source, 24, path / name);
  }
};

std::size_t count(const Warnings& warnings, WarningCode code) {
  return static_cast<std::size_t>(std::count_if(warnings.begin(), warnings.end(), [&](const Warning& w) { return w.code == code; }));
}

Reading reading_with(const std::string& capture, Warnings warnings) {
  Measurement measured;
  measured.warnings = std::move(warnings);
  return {{LogEntry{.capture = capture}, measured}, std::nullopt};
}

}  // namespace

TEST_CASE("a folder is read as a session with its facts, its tilts and the measured captures") {
  const Folder folder("whole");
  folder.capture("a.wav", 0.02);
  folder.capture("b.wav", 0.05);
  folder.text("steps.csv", "capture,tilt_deg,use\na.wav,-1,yes\nb.wav,1,verify\n");
  folder.text("session.json", R"({"cartridge": "Larkspur", "gauge_u_deg": 0.05})");
  const Session session = session_from(folder.path.string(), {}, 2);
  CHECK(session.facts.cartridge == "Larkspur");
  REQUIRE(session.steps.size() == 2);
  CHECK(session.steps[0].log.tilt_deg == -1.0);
  CHECK(session.steps[1].log.use == StepUse::kVerify);
  CHECK(session.steps[1].log.capture == "b.wav");
  REQUIRE(measurement_of(session.steps[1]).crosstalk.left_into_right);
  // It agrees with the crosstalk of the capture to 1 %: noise of 1e-4 changes a tone of 0.2 by far less.
  CHECK(std::abs(measurement_of(session.steps[1]).crosstalk.left_into_right->same_passage.value) == Approx(0.05).epsilon(0.01));
}

TEST_CASE("the name of a step log gives the same session as the name of its folder") {
  const Folder folder("log");
  folder.capture("a.wav", 0.02);
  folder.text("steps.csv", "capture,tilt_deg\na.wav,0\n");
  const Session by_log = session_from((folder.path / "steps.csv").string(), {}, 1);
  const Session by_folder = session_from(folder.path.string(), {}, 1);
  CHECK(to_json(Reading{by_log.steps.at(0), {}}) == to_json(Reading{by_folder.steps.at(0), {}}));
}

TEST_CASE("a capture that cannot be measured becomes a step with an error and one warning") {
  const Folder folder("bad");
  folder.capture("a.wav", 0.02);
  folder.text("empty.wav", "");
  folder.text("steps.csv", "capture,tilt_deg\na.wav,0\nempty.wav,1\nabsent.wav,2\n");
  const Session session = session_from(folder.path.string(), {}, 1);
  REQUIRE(session.steps.size() == 3);
  CHECK_FALSE(session.steps[0].error());
  CHECK(session.steps[1].error());
  CHECK(session.steps[2].error());
  CHECK(session.steps[2].log.tilt_deg == 2.0);
  CHECK(count(session.warnings, WarningCode::kStepUnreadable) == 2);
}

TEST_CASE("a step with swapped leads is passed to the fit with that mark") {
  const Folder folder("leads");
  folder.capture("a.wav", 0.02);
  folder.capture("b.wav", 0.03);
  folder.text("steps.csv", "capture,tilt_deg,leads\na.wav,0,straight\nb.wav,1,swapped\n");
  const Session session = session_from(folder.path.string(), {}, 1);
  CHECK_FALSE(session.steps.at(0).error());
  CHECK_FALSE(session.steps.at(1).error());
  CHECK_FALSE(session.steps.at(0).log.leads_swapped);
  CHECK(session.steps.at(1).log.leads_swapped);
}

TEST_CASE("a meter table is read as a session with the session file beside it") {
  const Folder folder("meter");
  folder.text("meter.csv", "# by hand\n\ntilt_deg,right_into_left_db,left_into_right_db\n0,-30,-31\n1,x,-31\n");
  folder.text("session.json", R"({"cartridge": "Larkspur", "frequency_hz": 315})");
  const Session session = session_from((folder.path / "meter.csv").string(), {}, 1);
  CHECK(session.facts.cartridge == "Larkspur");
  REQUIRE(session.steps.size() == 2);
  CHECK_FALSE(measurement_of(session.steps[0]).phases_measured);
  CHECK(measurement_of(session.steps[0]).crosstalk.frequency_hz == 315.0);
  CHECK(session.steps[1].error());
  CHECK(count(session.warnings, WarningCode::kStepUnreadable) == 1);
}

TEST_CASE("an input that cannot be used is refused and not skipped") {
  const Folder folder("refused");
  folder.text("meter.csv", "tilt_deg,right_into_left_db\n0,-30\n");
  CHECK_THROWS_WITH(session_from((folder.path / "meter.csv").string(), {}, 1), ContainsSubstring("left_into_right_db"));
  CHECK_THROWS_AS(session_from((folder.path / "nowhere").string(), {}, 1), Error);
}

TEST_CASE("if readings state different sessions, the first one is used and a warning is given") {
  std::vector<Reading> readings{reading_with("a.wav", {}), reading_with("b.wav", {}), reading_with("c.wav", {})};
  readings[1].session = SessionFacts{};
  readings[1].session->cartridge = "Larkspur";
  readings[2].session = SessionFacts{};
  readings[2].session->cartridge = "Corncrake";
  const Session session = session_of_readings(readings);
  CHECK(session.facts.cartridge == "Larkspur");
  CHECK(count(session.warnings, WarningCode::kSessionDiffers) == 1);
  readings[2].session->cartridge = "Larkspur";
  CHECK(session_of_readings(readings).warnings.empty());
}

TEST_CASE("a warning that several steps share is given once") {
  const Warning hum{WarningCode::kHum, "hum at -40 dB"};
  const std::vector<Step> steps{reading_with("a.wav", {hum}).step, reading_with("b.wav", {hum, {WarningCode::kClipped, "12 samples"}}).step,
                                reading_with("c.wav", {hum, {WarningCode::kSwappedOrReversed, "told by the fit"}}).step};
  const Warnings warnings = warnings_of_steps(steps);
  REQUIRE(warnings.size() == 2);
  CHECK(warnings[0].message == "a.wav and 2 more: hum at -40 dB");
  CHECK(warnings[1].message == "b.wav: 12 samples");
}

TEST_CASE("The files of an input are its log, its session file and the files that they name") {
  const Folder folder("files-of");
  folder.text("steps.csv", "capture,tilt_deg\na.wav,1\nb.wav,x\n");
  folder.text("session.json", R"({"calibration":"preamp.json"})");
  const auto named = [&](const char* name) { return (folder.path / name).string(); };
  const std::string whole = folder.path.string();
  CHECK(files_of(whole) ==
        std::vector<std::string>{whole, named("steps.csv"), named("session.json"), named("a.wav"), named("b.wav"), named("preamp.json")});
  CHECK(files_of(named("steps.csv")).size() == 6);
  folder.text("steps.csv", "nothing of the kind");
  CHECK(files_of(whole).size() == 3);
  CHECK(files_of("readings.jsonl") == std::vector<std::string>{"readings.jsonl"});
  CHECK(files_of("-") == std::vector<std::string>{"-"});
}
