// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "unit/documents/sample_documents.hpp"

using namespace evenwall;

namespace {

Calibration example() {
  const Complex one{1, 0};
  return {{{315, {one, {0.001, -1.0 / 3}, {0, 0}, one}, {0, 1e-300}}, {1000.25, {one, {-0.02, 0.01}, {0.03, 0}, one}, {1e-5, 2e-5}}}};
}

/// A document with the given point after one good point at 315 Hz.
std::string with_point(const std::string& point) {
  return R"({"schema":"evenwall/calibration/1","points":[{"frequency_hz":315,"matrix":[[{"re":1,"im":0},{"re":0.1,"im":0}],)"
         R"([{"re":0,"im":0},{"re":1,"im":0}]],"u_off_diagonal":[0,0]},)" +
         point + "]}";
}

std::string point(const std::string& frequency, const std::string& first, const std::string& leak, const std::string& u) {
  return R"({"frequency_hz":)" + frequency + R"(,"matrix":[[{"re":)" + first + R"(,"im":0},{"re":)" + leak + R"(,"im":0.1}],)" +
         R"([{"re":0,"im":0},{"re":1,"im":0}]],"u_off_diagonal":)" + u + "}";
}

std::string refused_calibration(const std::string& text) {
  return refusal_of([&] { calibration_from_json(text, "e.json"); });
}

}  // namespace

TEST_CASE("Calibrations are written and read without a change of a byte, and fit the schema") {
  const std::string text = to_json(example());
  const Calibration back = calibration_from_json(text, "e.json");
  CHECK(to_json(back) == text);
  CHECK(back.points.at(1).matrix == example().points[1].matrix);
  CHECK(back.points.at(1).u_off_diagonal == example().points[1].u_off_diagonal);
  CHECK(schema_fault("calibration", text) == "");
  CHECK(holds(text, R"("points":[{"frequency_hz":315.0,"matrix":[[{"re":1.0,"im":0.0},{"re":0.001,"im":)"));
}

TEST_CASE("The schema refuses what the reader refuses") {
  Calibration wrong = example();
  wrong.points[0].matrix[3] = 2;
  CHECK(schema_fault("calibration", to_json(wrong)) != "");
  wrong = example();
  wrong.points[0].matrix[1] = 0.95;
  CHECK(schema_fault("calibration", to_json(wrong)) != "");
  wrong = example();
  wrong.points[0].u_off_diagonal[1] = -1;
  CHECK(schema_fault("calibration", to_json(wrong)) != "");
  CHECK(schema_fault("calibration", to_json(Calibration{})) != "");
}

TEST_CASE("A matrix that no electronics can have is refused, and the message names its key") {
  CHECK(refused_calibration(with_point(point("1000", "1", "0.1", "[0,0]"))) == "(nothing was refused)");
  CHECK(holds(refused_calibration(with_point(point("1000", "0.5", "0.1", "[0,0]"))), "/points/1/matrix/0/0 is not 1"));
  CHECK(holds(refused_calibration(with_point(point("1000", "1", "0.9", "[0,0]"))), "/points/1/matrix/0/1 has a magnitude of 0.906"));
  CHECK(holds(refused_calibration(with_point(point("1000", "1", "0.1", "[0,-1e-9]"))),
              "/points/1/u_off_diagonal/1 is -1e-09; 0 to 1 is possible"));
  CHECK(holds(refused_calibration(with_point(point("1000", "1", "0.1", "[null,0]"))), "/points/1/u_off_diagonal/0 is not an uncertainty"));
  CHECK(holds(refused_calibration(with_point(point("1000", "1", "null", "[0,0]"))), "/points/1/matrix/0/1 is not a complex number"));
}

TEST_CASE("Frequencies that do not ascend, are equal or are not positive are refused") {
  for (const char* frequency : {"315", "300", "null", "-1"}) {
    CHECK(holds(refused_calibration(with_point(point(frequency, "1", "0.1", "[0,0]"))), "/points/1/frequency_hz is"));
  }
  CHECK(holds(refused_calibration(R"({"schema":"evenwall/calibration/1","points":[)" + point("0", "1", "0.1", "[0,0]") + "]}"),
              "/points/0/frequency_hz is 0"));
}

TEST_CASE("Incomplete documents are refused, and the message names what is missing") {
  CHECK(holds(refused_calibration(R"({"schema":"evenwall/reading/1"})"), "the schema is \"evenwall/reading/1\""));
  CHECK(holds(refused_calibration(R"({"schema":"evenwall/calibration/1"})"), "no key \"points\""));
  CHECK(holds(refused_calibration(R"({"schema":"evenwall/calibration/1","points":[]})"), "/points is empty"));
  CHECK(holds(refused_calibration(R"({"schema":"evenwall/calibration/1","points":7})"), "/points is a number"));
  CHECK(holds(refused_calibration(with_point(R"({"frequency_hz":1000,"u_off_diagonal":[0,0]})")), "/points/1/matrix is missing"));
  CHECK(holds(refused_calibration(with_point("3")), "/points/1 is a number"));
}
