// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;

namespace {

StepLog log_of(std::string_view text) {
  const TempFolder folder;
  return read_step_log(folder.write("steps.csv", text));
}
std::string refused(std::string_view text) {
  return refusal_of([&] { log_of(text); });
}
/// The error of the only bad row among good ones.
std::string bad_row(const StepLog& log) {
  std::string message;
  for (const auto& row : log.rows) {
    if (const auto* bad = std::get_if<BadRow>(&row)) message += bad->error.message;
  }
  return message;
}
const LogEntry& entry(const StepLog& log, std::size_t index) { return std::get<LogEntry>(log.rows.at(index)); }
bool is_bad(const StepLog& log, std::size_t index) { return std::holds_alternative<BadRow>(log.rows.at(index)); }
}  // namespace

TEST_CASE("Every column reaches its field") {
  const auto log = log_of(
      "# bench 3\n"
      "note,tilt_deg,capture,from_s,to_s,tilt_u,use,leads,sequence,approach\n"
      "\"a \"\"quoted\"\", note\",-1.25,sub/a.wav,1,20.5,0.05,verify,swapped,2,up\n"
      "\n"
      ",+0.5,b.wav,,,,,,,\n");
  REQUIRE(log.rows.size() == 2);
  CHECK(log.warnings.empty());
  const LogEntry& a = entry(log, 0);
  CHECK(a.note == "a \"quoted\", note");
  CHECK(a.capture == "sub/a.wav");
  CHECK(a.tilt_deg == -1.25);
  CHECK(a.tilt_u == 0.05);
  CHECK(a.use == StepUse::kVerify);
  CHECK((a.from_s == 1 && a.to_s == 20.5 && a.leads_swapped && a.sequence == 2 && a.approach == "up"));
  const LogEntry& b = entry(log, 1);
  CHECK(b.tilt_deg == 0.5);
  CHECK(b.use == StepUse::kYes);
  CHECK((!b.from_s && !b.to_s && !b.leads_swapped && !b.sequence && !b.approach && !b.tilt_units));
}

TEST_CASE("A log is read alike with any separator, decimal mark, line end or byte-order mark") {
  for (const char* text : {"capture,tilt_deg\na.wav,-1.5\nb.wav,2\n", "capture;tilt_deg\r\na.wav;-1,5\r\nb.wav;2\r\n",
                           "capture;tilt_deg\na.wav;-1.5\nb.wav;2", "capture\ttilt_deg\ra.wav\t-1.5\rb.wav\t2\r",
                           "\xef\xbb\xbf"
                           "capture,tilt_deg\n a.wav , -1.5 \nb.wav,2,,\n"}) {
    INFO(text);
    const auto log = log_of(text);
    REQUIRE(log.rows.size() == 2);
    CHECK(log.warnings.empty());
    CHECK(entry(log, 0).capture == "a.wav");
    CHECK(entry(log, 0).tilt_deg == -1.5);
    CHECK(entry(log, 1).tilt_deg == 2);
  }
}

TEST_CASE("Logs are read as people keep them") {
  // Capitals and blanks in names, minus signs, degree signs, quoted decimal commas, cleared rows, separators at the ends of lines.
  for (const char* text : {"Capture, Tilt_DEG ,Use,,\na.wav,\xe2\x88\x92"
                           "1.5\xc2\xb0,,,\n,,,,\nb.wav,\"2,25\",verify\n , ,\t,,\n",
                           "CAPTURE\tTILT_DEG\tUSE\na.wav\t\xe2\x80\x93"
                           "1,5 \xc2\xb0\t\n\t\t\nb.wav\t2,25\tverify\t\t\n",
                           ";;\nTilt_deg;capture;use;\n\"-1,5\";a.wav;;\n;;;\n2,25;b.wav;verify\n"}) {
    INFO(text);
    const auto log = log_of(text);
    CHECK(log.warnings.empty());
    REQUIRE(log.rows.size() == 2);
    CHECK(entry(log, 0).capture == "a.wav");
    CHECK(entry(log, 0).tilt_deg == -1.5);
    CHECK(entry(log, 1).capture == "b.wav");
    CHECK(entry(log, 1).tilt_deg == 2.25);
    CHECK(entry(log, 1).use == StepUse::kVerify);
  }
}

TEST_CASE("Leniency has limits: a torn row, a degree sign after a time and a repeated name are found") {
  const auto log = log_of("Capture,tilt_deg,note,,\na.wav,0,,,\nb.wav,1\nc.wav,2,x,y,z,more\n");
  REQUIRE(log.rows.size() == 3);
  CHECK(is_bad(log, 1));
  CHECK(is_bad(log, 2));
  CHECK(holds(bad_row(log), "2 fields, but the header has 3"));
  CHECK(holds(bad_row(log_of("capture,tilt_deg,from_s\na.wav,0,2\xc2\xb0\nb.wav,0,\n")),
              "column from_s has \"2\xc2\xb0\", which is not a number"));
  CHECK(holds(refused("capture,tilt_deg,TILT_DEG\na,1,2\n"), "\"tilt_deg\" appears twice"));
  CHECK(holds(log_of("capture,tilt_deg,Colour\na,0,red\nb,1,red\n").warnings[0].message, "\"Colour\" is unknown"));
}

TEST_CASE("A text instead of a number excludes its own step only, and the message names line and column") {
  for (const char* cell : {"1.5deg", "\"1,5,0\"", "nan"}) {
    INFO(cell);
    const auto log = log_of("capture,tilt_deg\na.wav,0\nb.wav," + std::string(cell) + "\nc.wav,1\n");
    REQUIRE(log.rows.size() == 3);
    CHECK(entry(log, 0).tilt_deg == 0);
    CHECK(entry(log, 2).tilt_deg == 1);
    REQUIRE(is_bad(log, 1));
    const auto& bad = std::get<BadRow>(log.rows[1]);
    CHECK(bad.capture == "b.wav");
    CHECK(bad.error.code == ReadingFault::kStepUnreadable);
    CHECK(holds(bad.error.message, "steps.csv:3: column tilt_deg "));
    REQUIRE(log.warnings.size() == 1);
    CHECK(log.warnings[0].code == WarningCode::kStepUnreadable);
    CHECK(log.warnings[0].message == bad.error.message);
  }
}

TEST_CASE("A bad row of any kind excludes its own step only") {
  const struct {
    const char* row;
    const char* words;
  } cases[] = {{"b.wav,1,5,,,,x", "7 fields"},
               {"b.wav,1", "2 fields, but the header has 6"},
               {",1,,,,", "column capture is empty"},
               {"b.wav,1,maybe,,,", "not one of yes, no, verify, as_found"},
               {"b.wav,1,,crossed,,", "not one of straight, swapped"},
               {"b.wav,1,,,9,3", "not after from_s"},
               {"b.wav,1,,,-1,", "steps.csv:3: from_s is -1; 0 to 10000000 s is possible. The step is excluded. Correct the log."},
               {"b\"x.wav,1,,,,", "stray quote"},
               {"a.wav,1,,,,", "in use by line 2"},
               {"./a.wav,1,,,5,9", "in use by line 2"}};
  for (const auto& c : cases) {
    INFO(c.row);
    const auto log = log_of("capture,tilt_deg,use,leads,from_s,to_s\na.wav,0,,,,\n" + std::string(c.row) + "\nc.wav,2,,,,\n");
    REQUIRE(log.rows.size() == 3);
    CHECK((holds(bad_row(log), "line 3") || holds(bad_row(log), "steps.csv:3: ")));
    CHECK(holds(bad_row(log), c.words));
    CHECK(entry(log, 2).tilt_deg == 2);
  }
}

TEST_CASE("One capture may contain several steps if each of them has a stretch of its own") {
  const auto log =
      log_of("capture,tilt_deg,from_s,to_s\na.wav,0,0,10\na.wav,1,20,30\na.wav,2,10,20\na.wav,3,29,40\na.wav,4,5,25\na.wav,0,0,10\n");
  REQUIRE(log.rows.size() == 5);
  CHECK_FALSE(is_bad(log, 2));  // stretches that touch do not overlap
  CHECK(is_bad(log, 3));
  CHECK(is_bad(log, 4));
  CHECK(log.warnings.back().code == WarningCode::kDuplicateRow);
}

TEST_CASE("A tilt may be empty, but not that of a step that is to be verified") {
  const auto log = log_of("capture,tilt_deg,use\na.wav,,as_found\nb.wav,,no\nc.wav,,verify\nd.wav,,\n");
  CHECK_FALSE(is_bad(log, 0));
  CHECK_FALSE(is_bad(log, 1));
  REQUIRE(is_bad(log, 2));
  CHECK(holds(std::get<BadRow>(log.rows[2]).error.message, "column tilt_deg is empty"));
  CHECK_FALSE(is_bad(log, 3));
  CHECK_FALSE(entry(log, 3).tilt_deg.has_value());
}

TEST_CASE("A log may have no column for tilts, but none that seems to hold them under another name") {
  const auto log = log_of("capture\na.wav\nb.wav\n");
  REQUIRE(log.rows.size() == 2);
  CHECK(log.warnings.empty());
  CHECK(entry(log, 1).capture == "b.wav");
  CHECK_FALSE(entry(log, 1).tilt_deg.has_value());
  CHECK_FALSE(is_bad(log_of("capture,use\na.wav,verify\n"), 0));
  CHECK(holds(refused("capture,tilt\na.wav,1\n"), "neither a column"));
  CHECK(holds(refused("capture,Azimuth (deg)\na.wav,1\n"), "neither a column"));
}

TEST_CASE("Logs that cannot be used as a whole are refused") {
  CHECK(holds(refused("capture,tilt_deg\n"), "no steps"));
  CHECK(holds(refused("tilt_deg\n1\n"), "no column \"capture\""));
  CHECK(holds(refused("capture,tilt_deg,tilt_deg\na,1,2\n"), "appears twice"));
}

TEST_CASE("Unknown columns and improbable units cause a warning") {
  const auto log = log_of("capture,tilt_deg,colour\na.wav,90,red\nb.wav,0,red\n");
  REQUIRE(log.warnings.size() == 3);
  CHECK(log.warnings[0].code == WarningCode::kUnknownKey);
  CHECK(holds(log.warnings[0].message, "\"colour\""));
  CHECK(holds(log.warnings[1].message, "steps.csv:2: tilt_deg is 90; the limit is 45°. The step is excluded. Correct the log."));
  CHECK(log.warnings[2].code == WarningCode::kUnitSuspect);
  CHECK(log_of("capture,tilt_deg\na,0.01\nb,-0.01\n").warnings.size() == 1);
  CHECK(log_of("capture,tilt_units\na,90\nb,-90\n").warnings.empty());
}
