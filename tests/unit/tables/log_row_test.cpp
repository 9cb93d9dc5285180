// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/log_row.hpp"

#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::tables;

TEST_CASE("a row is added in the columns, separator and line ends of the log") {
  const auto added = [](std::string_view log) { return added_row(log, "log", "x.wav", "1.5"); };
  CHECK(added("capture,tilt_deg\na.wav,1\n") == "x.wav,1.5\n");
  CHECK(added("# c\r\ncapture;tilt_deg;note\r\na.wav;1;\r\n") == "x.wav;1.5;\r\n");
  CHECK(added("note\ttilt_units\tcapture\n") == "\t1.5\tx.wav\n");
  CHECK(added("capture,tilt_deg\na.wav,1") == "\nx.wav,1.5\n");
  CHECK(added("capture,tilt_deg\ra.wav,1") == "\rx.wav,1.5\r");
  CHECK(added("Capture,TILT_DEG,tilt_units\n") == "x.wav,1.5,\n");
  CHECK(added("") == "capture,tilt_deg\nx.wav,1.5\n");
  CHECK(added("\xef\xbb\xbf") == "capture,tilt_deg\nx.wav,1.5\n");
}

TEST_CASE("the log's reader reads every capture's name back") {
  const TempFolder folder;
  for (const std::string name : {"a,b.wav", "#1.wav", "say \"x\".wav", " blank .wav", "line\nend.wav", "plain.wav", "semi;colon.wav"}) {
    for (const std::string head : {"capture,tilt_deg,note\n", "capture;tilt_deg;note\r\n", "capture\ttilt_deg\tnote\n"}) {
      folder.write("steps.csv", head + added_row(head, "log", name, "-1.25"));
      const StepLog log = read_step_log(folder / "steps.csv");
      INFO(name << " below " << head);
      REQUIRE(log.rows.size() == 1);
      CHECK(std::get<LogEntry>(log.rows[0]).capture == name);
      CHECK(*std::get<LogEntry>(log.rows[0]).tilt_deg == -1.25);
    }
  }
}

TEST_CASE("the tilt column is found, and a log that cannot be read is refused") {
  CHECK(tilt_column_of("capture,tilt_deg\n", "log") == "tilt_deg");
  CHECK(tilt_column_of("tilt_units,capture\n", "log") == "tilt_units");
  CHECK(tilt_column_of("", "log") == "tilt_deg");
  CHECK_FALSE(tilt_column_of("capture,note\n", "log"));
  CHECK_THROWS_AS(tilt_column_of("# only a comment\n", "log"), Error);
  CHECK_THROWS_AS(tilt_column_of("name,tilt_deg\n", "log"), Error);
  CHECK_THROWS_AS(tilt_column_of("capture,tilt_deg\n\"a.wav,1\n", "log"), Error);  // a new row would be part of the quote
}

TEST_CASE("a tilt is accepted as users type it") {
  CHECK(typed_tilt(" +1,5 ", "tilt_deg") == "+1.5");
  CHECK(typed_tilt("\xe2\x88\x92"
                   "2\xc2\xb0",
                   "tilt_deg") == "-2");
  CHECK(typed_tilt("0\r", "tilt_deg") == "0");
  CHECK(typed_tilt("300", "tilt_units") == "300");
  for (const char* wrong : {"", "x", "1.2.3", "0x10", "nan", "1 2", "--1"}) CHECK_THROWS_AS(typed_tilt(wrong, "tilt_deg"), Error);
  CHECK_THROWS_WITH(typed_tilt("90", "tilt_deg"), "tilt_deg is 90; the limit is 45°. No row was written.");
}
