// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/repeated_recordings.hpp"

#include <algorithm>

#include "support/catch.hpp"
#include "support/holds.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

/// A step. Steps with the same number `audio` have the same audio.
Step step_of(const std::string& capture, double audio, OptionalNumber tilt_deg, StepUse use = StepUse::kYes) {
  Measurement measured;
  measured.audio.sample_rate_hz = 48000;
  measured.passages.resize(1);
  measured.crosstalk.right_into_left.emplace().same_passage.value = {audio, 0.001};
  return {LogEntry{.capture = capture, .tilt_deg = tilt_deg, .use = use}, measured};
}

Session counted(std::vector<Step> steps) {
  Session session;
  session.steps = std::move(steps);
  exclude(count_recordings_once(session), session);
  return session;
}

}  // namespace

TEST_CASE("A recording that is listed three times at one tilt counts once") {
  const Session session = counted({step_of("a", 1, 0), step_of("b", 2, 0), step_of("c", 1, 0), step_of("a", 1, 0)});
  REQUIRE(session.steps.size() == 2);
  CHECK(session.steps[0].log.capture == "a");
  CHECK(session.steps[1].log.capture == "b");
  REQUIRE(session.warnings.size() == 1);
  CHECK(session.warnings[0].code == WarningCode::kDuplicateReading);
  CHECK(holds(session.warnings[0].message, "a: the session holds this recording 3 times, also as c. It is counted once"));
}

TEST_CASE("Of a reading without a tilt and one with a tilt, the one with the tilt counts, in either order") {
  for (const bool first : {true, false}) {
    const Step with = step_of("a", 1, 0.5), without = step_of("a", 1, std::nullopt);
    const Session session = counted(first ? std::vector<Step>{without, with} : std::vector<Step>{with, without});
    REQUIRE(session.steps.size() == 1);
    CHECK(session.steps[0].log.tilt_deg == 0.5);
    CHECK(session.warnings.at(0).code == WarningCode::kDuplicateReading);
  }
}

TEST_CASE("A recording at a second tilt, or with other leads, is excluded and named") {
  Session session = counted({step_of("a", 1, 0), step_of("b", 1, 1)});
  REQUIRE(session.steps.size() == 2);
  CHECK_FALSE(session.steps[0].error());
  REQUIRE(session.steps[1].error());
  REQUIRE(session.warnings.size() == 1);
  CHECK(session.warnings[0].code == WarningCode::kSameRecording);
  CHECK(holds(session.warnings[0].message, "b at tilt_deg 1: its audio is that of a, which is logged at tilt_deg 0"));
  std::vector<Step> leads{step_of("a", 1, 0), step_of("b", 1, 0)};
  leads[1].log.leads_swapped = true;
  session = counted(leads);
  CHECK(session.steps.at(1).error());
}

TEST_CASE("A recording may be both a fitted step and the state as found, but as a verification of a fitted step it causes a warning") {
  CHECK(counted({step_of("a", 1, 0), step_of("a", 1, std::nullopt, StepUse::kAsFound)}).warnings.empty());
  CHECK(counted({step_of("a", 1, 0, StepUse::kAsFound), step_of("a", 1, 0)}).steps.size() == 2);
  const Session verified = counted({step_of("a", 1, 0), step_of("b", 1, 0, StepUse::kVerify)});
  CHECK(verified.steps.size() == 2);
  REQUIRE(verified.warnings.size() == 1);
  CHECK(verified.warnings[0].code == WarningCode::kSameRecording);
  CHECK(holds(verified.warnings[0].message, "proves nothing"));
}

TEST_CASE("A step that is marked as not used causes no contradiction, so that a wrong row can stay in the log") {
  const Session session = counted({step_of("a", 1, 5, StepUse::kNo), step_of("a", 1, 0)});
  CHECK(session.warnings.empty());
  CHECK(session.steps.size() == 2);
  CHECK_FALSE(session.steps[1].error());
}
