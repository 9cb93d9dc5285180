// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/watched_log.hpp"

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

TEST_CASE("the rows of a recording are found, also of one that cannot be used") {
  const TempFolder folder;
  folder.write("steps.csv", "capture,tilt_deg,from_s\na.wav,1,\n./b.wav,2,0\nb.wav,3,20\nc.wav,x,\n");
  const WatchedLog log(folder.path());
  CHECK(log.is_readable());
  CHECK_FALSE(log.is_new());
  CHECK(log.columns() == internal::tables::AnswerColumns{"tilt_deg", false});
  CHECK(log.rows_of("a.wav").size() == 1);
  CHECK(log.rows_of("c.wav").size() == 1);
  CHECK(log.rows_of("d.wav").empty());
  folder.write("d.flac", "x");
  folder.write("steps.csv", "capture,tilt_deg\nd,1\n");  // without its ending
  CHECK(WatchedLog(folder.path()).rows_of("d.flac").size() == 1);
  // The stretch of the first row has no end, so the second one cannot be used, but it is a row of the recording.
  CHECK(log.rows_of("b.wav").size() == 2);
}

TEST_CASE("a log that is missing or has no rows can get a row, and a broken one is not readable") {
  const TempFolder folder;
  CHECK(WatchedLog(folder.path()).is_readable());
  REQUIRE(WatchedLog(folder.path()).add_row("a.wav", {"1"}));
  CHECK(folder.read("steps.csv") == "capture,tilt_deg,use\na.wav,1,\n");
  folder.write("steps.csv", "# mine\ncapture;tilt_units\r\n");
  const WatchedLog log(folder.path());
  CHECK(log.is_readable());
  CHECK(log.is_new());
  CHECK(log.columns() == internal::tables::AnswerColumns{"tilt_units", false});
  folder.write("steps.csv", "# mine too\ncapture;tilt_units\r\n");
  CHECK_FALSE(log.add_row("a.wav", {"1"}));  // it has changed since it was read
  folder.write("steps.csv", "# no header\n");
  CHECK(WatchedLog(folder.path()).is_new());
  for (const char* broken : {"x,y\n", "capture,tilt_deg\n\"a.wav,1\n"}) {
    folder.write("steps.csv", broken);
    CHECK_FALSE(WatchedLog(folder.path()).is_readable());
  }
}
