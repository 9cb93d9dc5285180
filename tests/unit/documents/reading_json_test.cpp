// SPDX-License-Identifier: GPL-3.0-or-later
#include <cmath>

#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/measurement_of.hpp"
#include "support/refusal.hpp"
#include "unit/documents/sample_documents.hpp"

using namespace evenwall;

namespace {

std::string refused_reading(std::string_view text) {
  return refusal_of([&] { readings_from_jsonl(text, "r.jsonl"); });
}
std::string replaced(std::string text, const std::string& from, const std::string& to) {
  const auto at = text.find(from);
  REQUIRE(at != std::string::npos);
  return text.replace(at, from.size(), to);
}

}  // namespace

TEST_CASE("Readings are written and read without a change of a byte, and fit the schema") {
  const Reading failed{{LogEntry{.capture = "gone.wav", .tilt_deg = 1}, ReadingError{ReadingFault::kStepUnreadable, "no such file"}},
                       std::nullopt};
  std::string lines;
  for (const Reading& reading : {full_reading(), Reading{}, failed}) {
    const std::string text = to_json(reading);
    CHECK(text.find('\n') == std::string::npos);
    const auto back = readings_from_jsonl("\n" + text + "\r\n\n", "r.jsonl");
    REQUIRE(back.size() == 1);
    CHECK(to_json(back[0]) == text);
    lines += text + "\n";
  }
  CHECK(schema_fault("reading", lines) == "");
  CHECK(to_json(failed) ==
        R"({"schema":"evenwall/reading/1","capture":"gone.wav","error":{"code":"step_unreadable","message":"no such file"}})");
}

TEST_CASE("The schema test fails for a wrong key and for a wrong word") {
  const std::string good = to_json(full_reading());
  CHECK(schema_fault("reading", replaced(good, "\"capture\":", "\"capure\":")) != "");
  CHECK(schema_fault("reading", replaced(good, "\"use\":\"as_found\"", "\"use\":\"sometimes\"")) != "");
}

TEST_CASE("Values are exactly the same after writing and reading") {
  const auto back = readings_from_jsonl(to_json(full_reading()), "r").at(0);
  CHECK(back.step.log.tilt_deg == -1.0 / 3);
  CHECK(measurement_of(back.step).crosstalk.right_into_left->same_passage.u_re == 4.9e-324);
  CHECK(measurement_of(back.step).crosstalk.right_into_left->same_passage.u_im == 1e12);
  CHECK(std::signbit(measurement_of(back.step).crosstalk.right_into_left->same_passage.value.imag()));
  CHECK_FALSE(measurement_of(back.step).crosstalk.left_into_right);
  CHECK(back.session->other_texts.at("colour") == "red");
  CHECK(measurement_of(back.step).passages[0].relation == Relation::kAntiphase);
}

TEST_CASE("Not-a-number and infinity become null, and bytes that are not UTF-8 are replaced") {
  Reading r = full_reading();
  measurement_of(r.step).balance_db = NAN;
  measurement_of(r.step).shear_db = -INFINITY;
  measurement_of(r.step).passages[0].snr_db = INFINITY;
  r.step.log.capture = "bad\xff.wav";
  const std::string text = to_json(r);
  CHECK(holds(text, "\"balance_db\":null"));
  CHECK(holds(text, "\"snr_db\":null"));
  CHECK_FALSE(holds(text, "nan"));
  CHECK_FALSE(holds(text, "inf\""));
  CHECK(holds(text, "bad\xef\xbf\xbd.wav"));
  CHECK(schema_fault("reading", text) == "");
  CHECK(to_json(readings_from_jsonl(text, "r").at(0)) == text);
}

TEST_CASE("A line that a crash cut off at any place excludes its own step only") {
  const std::string good = to_json(full_reading());
  for (std::size_t length = 1; length < good.size(); ++length) {
    const auto back = readings_from_jsonl(good.substr(0, length) + "\n" + good + "\n", "r.jsonl");
    REQUIRE(back.size() == 2);
    REQUIRE(back[0].step.error());
    REQUIRE(holds(back[0].step.error()->message, "r.jsonl:1: the line was cut off by a crash"));
    REQUIRE(to_json(back[1]) == good);
  }
}

TEST_CASE("The bytes of a name that is not UTF-8 are the same after writing and reading") {
  Reading reading;
  reading.step.log.capture = "b\xe4nd\xff.wav";
  for (const bool failed : {false, true}) {
    if (failed) reading.step.result = ReadingError{ReadingFault::kUnreadable, "x"};
    const std::string text = to_json(reading);
    CHECK(holds(text, "\"capture_hex\":\"62e46e64ff2e776176\""));
    CHECK(schema_fault("reading", text + "\n") == "");
    CHECK(readings_from_jsonl(text, "r").at(0).step.log.capture == reading.step.log.capture);
    for (const std::string wrong : {"\"6\"", "\"zz\"", "\"00\"", "\"+1\"", "5"})
      CHECK(holds(refused_reading(replaced(text, "\"62e46e64ff2e776176\"", wrong)), "capture_hex"));
  }
  CHECK_FALSE(holds(to_json(full_reading()), "capture_hex"));
}

TEST_CASE("A number out of its range excludes its own step only") {
  const std::string good = to_json(full_reading());
  const auto readings = readings_from_jsonl(good + "\n" + replaced(good, "\"tilt_u\":0.05", "\"tilt_u\":-1") + "\n" +
                                                replaced(good, "\"correlation\":-0.25", "\"correlation\":-2"),
                                            "r.jsonl");
  REQUIRE(readings.size() == 3);
  CHECK_FALSE(readings[0].step.error());
  REQUIRE((readings[1].step.error() && readings[2].step.error()));
  CHECK(readings[1].step.log.capture == "a b\".wav");
  CHECK(holds(readings[1].step.error()->message, "r.jsonl:2: key /tilt_u is -1; 0 to 1000000 is possible. The step is excluded."));
  CHECK(holds(readings[2].step.error()->message,
              "r.jsonl:3: key /crosstalk/right_into_left/same_passage/correlation is -2; the limit is 1."));
}

TEST_CASE("A code of a later version is kept in the message") {
  const std::string later =
      replaced(to_json(full_reading()), R"("code":"hum","message":"50 Hz")", R"("code":"new_code","message":"50 Hz")");
  const auto back = readings_from_jsonl(later, "r").at(0);
  CHECK(measurement_of(back.step).warnings[0].code == WarningCode::kOther);
  CHECK(measurement_of(back.step).warnings[0].message == "new_code: 50 Hz");
  CHECK(measurement_of(back.step).warnings[1].code == WarningCode::kNoisy);
  CHECK(to_json(readings_from_jsonl(to_json(back), "r").at(0)) == to_json(back));
  const auto failed =
      readings_from_jsonl(R"({"schema":"evenwall/reading/1","capture":"a.wav","error":{"code":"new_code","message":"gone"}})", "r").at(0);
  CHECK(failed.step.error()->code == ReadingFault::kUnreadable);
  CHECK(failed.step.error()->message == "new_code: gone");
}

TEST_CASE("A null name or code is read as absent") {
  const std::string good = to_json(full_reading());
  CHECK(readings_from_jsonl(replaced(good, R"("capture":"a b\".wav")", R"("capture":null)"), "r").at(0).step.log.capture.empty());
  const auto bare = readings_from_jsonl(replaced(good, R"({"code":"hum","message":"50 Hz"})", R"({"code":null})"), "r").at(0);
  CHECK(measurement_of(bare.step).warnings[0].code == WarningCode::kOther);
  CHECK(measurement_of(bare.step).warnings[0].message.empty());
}

TEST_CASE("Bad lines are refused with their line number, and unknown keys are ignored") {
  const std::string good = to_json(full_reading());
  CHECK(holds(refused_reading(good + "\n\n" + replaced(good, "\"use\":", "\"use\"") + "\n" + good), "r.jsonl:3: there is broken JSON"));
  CHECK(holds(refused_reading("[]"), "r.jsonl:1: the document is a list"));
  CHECK(holds(refused_reading(replaced(good, "reading/1", "reading/2")), "another version"));
  CHECK(holds(refused_reading(replaced(good, "reading/1", "solution/1")), "the schema is \"evenwall/solution/1\""));
  CHECK(holds(refused_reading("{\"capture\":\"a\"}"), "no key \"schema\""));
  CHECK(holds(refused_reading(R"({"schema":"evenwall/reading/1","capture":"a"})"), "no key \"crosstalk\""));
  CHECK(holds(refused_reading(replaced(good, "\"tilt_u\":0.05", "\"tilt_u\":\"0.05\"")), "key /tilt_u is a text"));
  CHECK(holds(refused_reading(replaced(good, "\"correlation\":-0.25", "\"correlation\":null")), "same_passage/correlation is null"));
  CHECK(holds(refused_reading(replaced(good, "\"driven\":\"both\"", "\"driven\":\"none\"")),
              "key /passages/0/driven is not one of left, right, both"));
  const auto extra = readings_from_jsonl(replaced(good, "\"use\"", "\"later\":{\"x\":[1]},\"use\""), "r");
  CHECK(to_json(extra.at(0)) == good);
}

TEST_CASE("A SHA-256 is written and read back, is absent if it was not requested, and is refused if it is malformed") {
  CHECK_FALSE(holds(to_json(full_reading()), "sha256"));
  Reading hashed = full_reading();
  const std::string hash = "0123456789abcdef" + std::string(48, '7');
  measurement_of(hashed.step).audio.sha256 = hash;
  const std::string text = to_json(hashed);
  CHECK(holds(text, R"("encoding":"WAV PCM 24-bit","sha256":")" + hash + "\"}"));
  CHECK(schema_fault("reading", text + "\n") == "");
  CHECK(to_json(readings_from_jsonl(text, "r").at(0)) == text);
  CHECK(holds(refused_reading(replaced(text, hash, hash.substr(1))), "key /audio/sha256 is not a SHA-256 of 64 hexadecimal digits"));
  CHECK(holds(refused_reading(replaced(text, "\"" + hash + "\"", "12")), "audio/sha256"));
  CHECK(refused_reading(replaced(text, "\"" + hash + "\"", "null")) == "(nothing was refused)");
}
