// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/steps_csv.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

TEST_CASE("the CSV table of steps quotes its texts, contains no formula, and leaves absent values empty") {
  Solution s;
  SolvedStep step;
  step.capture = "=a,\"b\".wav";
  step.tilt_deg = -1.5;
  step.used = false;
  step.flags = {StepFlag::kStepOff, StepFlag::kPossiblyOff};
  step.right_into_left_db = -30.25;
  s.steps = {step};
  const std::string csv = steps_csv(s);
  const std::string row = csv.substr(csv.find('\n') + 1);
  CHECK(row == "\"'=a,\"\"b\"\".wav\",-1.5,,0,,0,no,step_off possibly_off,-30.25,0,,,,\n");
  CHECK(std::count(csv.begin(), csv.begin() + static_cast<long>(csv.find('\n')), ',') == 13);
}

TEST_CASE("the CSV table has a last column for SHA-256 if a step has one") {
  Solution s;
  s.steps.resize(2);
  const std::string without = steps_csv(s);
  CHECK(without.find("sha256") == std::string::npos);
  s.steps[1].audio_sha256 = std::string(64, 'c');
  const std::string csv = steps_csv(s);
  CHECK(csv.find(",logged,audio_sha256\n") != std::string::npos);
  CHECK(csv.ends_with(",," + std::string(64, 'c') + "\n"));
  CHECK(std::count(csv.begin(), csv.end(), ',') == 3 * 14);
}
