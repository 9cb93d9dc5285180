// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "unit/documents/sample_documents.hpp"

using namespace evenwall;

namespace {

ArchivedSolution taken(const std::string& text, const std::optional<std::string>& by = std::nullopt) {
  return archived_solution_from_json(text, "s.json", by);
}
std::string refused_archived_solution(const std::string& rest) {
  return refusal_of([&] { taken(R"({"schema":"evenwall/solution/1")" + rest + "}"); });
}

}  // namespace

TEST_CASE("The fast reader gives the same values as the complete reader of solutions") {
  const std::string text = to_json(full_solution());
  const Solution slow = solution_from_json(text, "s.json");
  const ArchivedSolution s = taken(text, "colour");
  CHECK(s.name == "s.json");
  CHECK(s.cartridge == slow.session.cartridge);
  CHECK(s.record == slow.session.record);
  CHECK(s.group == "red");
  CHECK(s.least_crosstalk_deg == slow.least_crosstalk.tilt_deg + slow.options.record_correction->cut_error_deg);
  CHECK(s.u_least_crosstalk_deg == slow.least_crosstalk.u_deg);
  CHECK(s.equal_crosstalk_deg == *slow.equal_crosstalk.tilt_deg + slow.options.record_correction->cut_error_deg);
}

TEST_CASE("A record correction that was applied is undone") {
  const ArchivedSolution s = taken(
      R"({"schema":"evenwall/solution/1","options":{"record_correction":{"cut_error_deg":0.25}},"least_crosstalk":{"tilt_deg":1,"u_deg":null},)"
      R"("equal_crosstalk":{"tilt_deg":2}})");
  CHECK(s.least_crosstalk_deg == 1.25);
  CHECK(s.equal_crosstalk_deg == 2.25);
  CHECK_FALSE(s.u_least_crosstalk_deg);
  CHECK_FALSE(s.cartridge);
}

TEST_CASE("A solution that counts from a recording is refused, because its azimuths cannot be compared") {
  const std::string least = R"(,"least_crosstalk":{"tilt_deg":1,"u_deg":null})";
  CHECK(holds(refused_archived_solution(least + R"(,"recommended":{"from_capture":"last.wav"})"), "count from a recording"));
  CHECK(refused_archived_solution(least + R"(,"recommended":{"from_capture":null})") == "(nothing was refused)");
}

TEST_CASE("Keys of the same names at other places are ignored") {
  const ArchivedSolution s = taken(
      R"({"schema":"evenwall/solution/1","x":[{"session":{"cartridge":7}},[{"tilt_deg":"a"}]],"session":{"cartridge":"A","stylus":{"record":"no"}},)"
      R"("least_crosstalk":{"tilt_deg":1,"deeper":{"tilt_deg":9}}})");
  CHECK(s.cartridge == "A");
  CHECK_FALSE(s.record);
  CHECK(s.least_crosstalk_deg == 1);
}

TEST_CASE("A missing value or one of the wrong type is refused, and the message names its key") {
  const std::string good = R"(,"least_crosstalk":{"tilt_deg":0.5})";
  CHECK(refused_archived_solution(good) == "(nothing was refused)");
  CHECK(holds(refused_archived_solution(""), "no key \"least_crosstalk\""));
  CHECK(holds(refused_archived_solution(R"(,"least_crosstalk":{})"), "/least_crosstalk/tilt_deg is missing"));
  CHECK(holds(refused_archived_solution(R"(,"least_crosstalk":{"tilt_deg":null})"), "/least_crosstalk/tilt_deg is null, not a number"));
  CHECK(holds(refused_archived_solution(R"(,"least_crosstalk":[1])"), "no key \"least_crosstalk\"") == false);
  CHECK(holds(refused_archived_solution(R"(,"least_crosstalk":{"tilt_deg":1,"u_deg":-1})"), "/least_crosstalk/u_deg is -1; 0 to"));
  CHECK(holds(refused_archived_solution(good + R"(,"session":{"cartridge":7})"), "/session/cartridge is a number, not a text"));
  CHECK(holds(refused_archived_solution(good + R"(,"session":{"record":{}})"), "/session/record is an object or a list, not a text"));
  CHECK(holds(refused_archived_solution(good + R"(,"session":7)"), "/session is a number, not an object"));
}

TEST_CASE("Other documents, broken documents and hostile documents are refused") {
  const auto whole = [](const std::string& text) { return refusal_of([&] { taken(text); }); };
  CHECK(holds(whole(R"({"schema":"evenwall/solution/2","least_crosstalk":{"tilt_deg":1}})"), "is of another version"));
  CHECK(holds(whole(R"({"schema":"evenwall/survey/1"})"), "the schema is \"evenwall/survey/1\""));
  CHECK(holds(whole("{}"), "no key \"schema\""));
  CHECK(holds(whole("[]"), "is not an object"));
  CHECK(holds(whole("3"), "is not an object"));
  CHECK(holds(whole(""), "broken JSON at byte"));
  CHECK(holds(whole(R"({"schema":"evenwall/solution/1",)"), "broken JSON at byte"));
  CHECK(holds(refused_archived_solution(R"(,"a":1e999)"), "a number is too large"));
  CHECK(holds(refused_archived_solution(R"(,"a":1,"a":2)"), "key \"a\" is repeated"));
  CHECK(holds(refused_archived_solution(R"(,"a":"x\u0000y")"), "U+0000"));
  CHECK(holds(refused_archived_solution(",\"a\":" + std::string(70, '[') + std::string(70, ']')), "more than 64 levels"));
  std::string keys;
  for (int i = 0; i < 300; ++i) keys += ",\"k" + std::to_string(i) + "\":1";
  CHECK(holds(refused_archived_solution(keys), "more than 256 keys"));
}
