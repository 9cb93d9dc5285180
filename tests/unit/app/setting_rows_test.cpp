// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/setting_rows.hpp"

#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

Reading reading_of(const std::string& capture, std::initializer_list<Driven> driven) {
  Measurement measured;
  double start_s = 0.5;
  for (const Driven side : driven) {
    Passage p;
    p.driven = side;
    p.start_s = start_s;
    p.end_s = start_s += 4;
    p.frequency_hz = 1000;
    start_s += 1.006;
    measured.passages.push_back(p);
  }
  measured.audio.duration_s = start_s;
  return {{LogEntry{.capture = capture}, measured}, {}};
}

}  // namespace

TEST_CASE("Each setting gets a row, and the tilt stays empty") {
  const Reading reading = reading_of("evening.wav", {Driven::kLeft, Driven::kRight, Driven::kLeft, Driven::kRight});
  CHECK(setting_rows(reading, "evening.wav", {}) == "evening.wav,,0.00,10.01\nevening.wav,,10.01,20.52\n");
  CHECK(setting_rows(reading_of("a.wav", {Driven::kLeft}), "a.wav", {}).empty());
}

TEST_CASE("The rows are read as a log once the tilts are filled in, whatever the name of the file") {
  for (const std::string name : {"a, b \"c\";d.wav", "#1.wav", "=1.wav", "plain.wav"}) {
    INFO(name);
    std::string log = kSettingHeader + setting_rows(reading_of(name, {Driven::kLeft, Driven::kRight}), name, {});
    log.replace(log.find(",,") + 1, 0, "1.5");
    const TempFolder folder;
    const StepLog read = read_step_log(folder.write("steps.csv", log));
    REQUIRE(read.rows.size() == 1);
    const auto& entry = std::get<LogEntry>(read.rows[0]);
    CHECK(entry.capture == name);
    CHECK((entry.tilt_deg == 1.5 && entry.from_s == 0.0 && entry.to_s == 10.51));
  }
}

TEST_CASE("The rows name the recordings relative to the log to which they belong") {
  const TempFolder folder;
  const std::string session = folder / "session", a = folder / "session/a.wav", b = folder / "session/takes/b.wav", c = folder / "c.wav";
  CHECK(name_in_log(a, folder_of_rows({a}, {})) == "a.wav");
  CHECK(name_in_log(session + "/./takes/../a.wav", folder_of_rows({a}, {})) == "a.wav");
  CHECK(name_in_log(a, folder_of_rows({c}, session + "/steps.csv")) == "a.wav");
  CHECK(name_in_log(b, folder_of_rows({b}, session + "/steps.csv")) == "takes/b.wav");
  CHECK(name_in_log(c, folder_of_rows({c}, session + "/steps.csv")) == "../c.wav");
  CHECK(name_in_log(a, folder_of_rows({a}, "/dev/null")) == "a.wav");  // a device has no log beside it
  CHECK(name_in_log("x/a.wav", folder_of_rows({"x/a.wav", "y/b.wav"}, {})) == "x/a.wav");
  CHECK(name_in_log("a.wav", folder_of_rows({"a.wav", "./b.wav"}, {})) == "a.wav");
}
