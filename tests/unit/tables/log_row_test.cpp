// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/log_row.hpp"

#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::tables;

TEST_CASE("a row is added in the columns, separator and line ends of the log") {
  const auto added = [](std::string_view log) { return added_row(log, "log", "x.wav", {"1.5"}); };
  CHECK(added("capture,tilt_deg\na.wav,1\n") == "x.wav,1.5\n");
  CHECK(added("# c\r\ncapture;tilt_deg;note\r\na.wav;1;\r\n") == "x.wav;1.5;\r\n");
  CHECK(added("note\ttilt_units\tcapture\n") == "\t1.5\tx.wav\n");
  CHECK(added("capture,tilt_deg\na.wav,1") == "\nx.wav,1.5\n");
  CHECK(added("capture,tilt_deg\ra.wav,1") == "\rx.wav,1.5\r");
  CHECK(added("Capture,TILT_DEG,tilt_units\n") == "x.wav,1.5,\n");
  CHECK(added("") == "capture,tilt_deg,use\nx.wav,1.5,\n");
  CHECK(added("\xef\xbb\xbf") == "capture,tilt_deg,use\nx.wav,1.5,\n");
  CHECK(added("# our log\n#\n\n") == "capture,tilt_deg,use\nx.wav,1.5,\n");
  CHECK(added("# our log") == "\ncapture,tilt_deg,use\nx.wav,1.5,\n");
}

TEST_CASE("a row in a log with numbered rows gets the next number") {
  const auto added = [](std::string_view log) { return added_row(log, "log", "x.wav", {"1.5"}); };
  CHECK(added("capture,tilt_deg,sequence\na.wav,1,3\nb.wav,2,1\n") == "x.wav,1.5,4\n");
  CHECK(added("capture,tilt_deg,sequence\n") == "x.wav,1.5,1\n");
  CHECK(added("sequence;capture;tilt_deg\n2.5;a.wav;1\n") == "3;x.wav;1.5\n");
  CHECK(added("capture,tilt_deg,sequence\na.wav,1,3\nb.wav,2,\n") == "x.wav,1.5,\n");
  CHECK(added("capture,tilt_deg,sequence\na.wav,1,third\n") == "x.wav,1.5,\n");
  CHECK(added("capture,tilt_deg,sequence\na.wav,1,1000000000\n") == "x.wav,1.5,\n");
}

TEST_CASE("the log's reader reads every capture's name back") {
  const TempFolder folder;
  for (const std::string name : {"a,b.wav", "#1.wav", "say \"x\".wav", " blank .wav", "line\nend.wav", "plain.wav", "semi;colon.wav"}) {
    for (const std::string head : {"capture,tilt_deg,note\n", "capture;tilt_deg;note\r\n", "capture\ttilt_deg\tnote\n"}) {
      folder.write("steps.csv", head + added_row(head, "log", name, {"-1.25"}));
      const StepLog log = read_step_log(folder / "steps.csv");
      INFO(name << " below " << head);
      REQUIRE(log.rows.size() == 1);
      CHECK(std::get<LogEntry>(log.rows[0]).capture == name);
      CHECK(*std::get<LogEntry>(log.rows[0]).tilt_deg == -1.25);
    }
  }
}

TEST_CASE("the columns for an answer are found, and a log that cannot be read is refused") {
  CHECK(answer_columns_of("capture,tilt_deg\n", "log") == AnswerColumns{"tilt_deg", false});
  CHECK(answer_columns_of("Use,tilt_units,capture\n", "log") == AnswerColumns{"tilt_units", true});
  CHECK(answer_columns_of("tilt_units,capture,tilt_deg\n", "log") == AnswerColumns{"tilt_deg", false});
  CHECK(answer_columns_of("", "log") == AnswerColumns{"tilt_deg", true});
  CHECK(answer_columns_of("capture,note\n", "log") == AnswerColumns{std::nullopt, false});
  CHECK(answer_columns_of("# only a comment\n", "log") == AnswerColumns{"tilt_deg", true});
  CHECK_THROWS_AS(answer_columns_of("name,tilt_deg\n", "log"), Error);
  CHECK_THROWS_AS(answer_columns_of("capture,tilt_deg\n\"a.wav,1\n", "log"), Error);  // a new row would be part of the quote
}

TEST_CASE("a log without rows is recognised") {
  for (const char* log : {"", "\xef\xbb\xbf\n", "capture,tilt_deg\n", "# c\ncapture,tilt_deg\n\n,\n# end\n"})
    CHECK(is_without_rows(log, "log"));
  CHECK_FALSE(is_without_rows("capture,tilt_deg\na.wav,1\n", "log"));
  CHECK(is_without_rows("# only a comment\n", "log"));
}

TEST_CASE("a tilt is accepted as users type it") {
  const auto tilt = [](std::string_view typed, const char* column) { return typed_answer(typed, {column, false}).tilt; };
  CHECK(tilt(" +1,5 ", "tilt_deg") == "+1.5");
  CHECK(tilt("\xe2\x88\x92"
             "2\xc2\xb0",
             "tilt_deg") == "-2");
  CHECK(tilt("0\r", "tilt_deg") == "0");
  CHECK(tilt("300", "tilt_units") == "300");
  for (const char* wrong : {"", "x", "1.2.3", "0x10", "nan", "1 2", "--1", "verify"}) CHECK_THROWS_AS(tilt(wrong, "tilt_deg"), Error);
  CHECK_THROWS_WITH(tilt("90", "tilt_deg"), "tilt_deg is 90; the limit is 45°. No row was written.");
}

TEST_CASE("a use may follow the tilt, if the log has a column for it") {
  const AnswerColumns both{"tilt_deg", true}, tilt_only{"tilt_deg", false};
  for (const char* typed : {"1,5 verify", " 1.5\tVerify \r", "1.5\xc2\xb0 VERIFY", "1.5 \xc2\xb0verify"}) {
    INFO(typed);
    const TypedAnswer answer = typed_answer(typed, both);
    CHECK(answer.tilt == "1.5");
    CHECK(answer.use == StepUse::kVerify);
    CHECK(added_row("use,capture,tilt_deg\n", "log", "x.wav", answer) == "verify,x.wav,1.5\n");
    CHECK(added_row("", "log", "x.wav", answer) == "capture,tilt_deg,use\nx.wav,1.5,verify\n");
  }
  CHECK(typed_answer("0 as found", both).use == StepUse::kAsFound);
  CHECK_FALSE(typed_answer("0", both).use);
  CHECK_THROWS_WITH(typed_answer("0 perhaps", both),
                    "\"perhaps\" is not a use. No row was written. After the number, type yes, no, verify or as_found, or nothing.");
  CHECK(typed_answer("0 yes", tilt_only).use == StepUse::kYes);  // a log without the column has this use in every row
  CHECK_THROWS_WITH(
      typed_answer("0 no", tilt_only),
      "the log has no column use, so the use no cannot be written without a change of its other rows. No row was written. Add the "
      "column to the log, with a field in every row, or type the tilt alone.");
}
