// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/fit_warnings.hpp"

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

Session logged(std::size_t with_tilt, std::size_t without) {
  rig::Draw draw(3);
  const rig::Rig r = rig::random_rig(draw);
  std::vector<double> tilts;
  for (std::size_t i = 0; i < with_tilt + without; ++i) tilts.push_back(-2 + 0.9 * static_cast<double>(i));
  Session session = session_of(r, tilts, 1e-5, draw, 0.01);
  for (std::size_t i = with_tilt; i < tilts.size(); ++i) session.steps[i].log.tilt_deg.reset();
  session.facts.bands = {Band::kLeft, Band::kRight, Band::kLateral};
  return session;
}

std::string message(const Solution& s, WarningCode code) {
  for (const Warning& w : s.warnings) {
    if (w.code == code) return w.message;
  }
  return "";
}

}  // namespace

TEST_CASE("steps without a tilt beside others are named and counted") {
  CHECK(message(solve(logged(4, 0), {}), WarningCode::kTiltNotLogged).empty());
  CHECK(message(solve(logged(3, 1), {}), WarningCode::kTiltNotLogged).starts_with("no tilt is logged for step-4. "));
  CHECK(message(solve(logged(3, 3), {}), WarningCode::kTiltNotLogged).starts_with("no tilt is logged for step-4 and 2 more steps. "));
}

TEST_CASE("two recordings without tilts are too few to check, three are not") {
  CHECK(says(solve(logged(0, 2), {}).warnings, WarningCode::kFewSteps));
  CHECK_FALSE(says(solve(logged(0, 3), {}).warnings, WarningCode::kFewSteps));
}

TEST_CASE("a recording after the last fitted one is named, because the cartridge may stand there") {
  Session session = logged(0, 4);
  session.steps[3] = {LogEntry{.capture = "torn.wav"}, ReadingError{ReadingFault::kStepUnreadable, "no audio"}};
  const std::string text = message(solve(session, {}), WarningCode::kStepUnreadable);
  INFO(text);
  const Warnings all = solve(session, {}).warnings;
  CHECK(std::any_of(all.begin(), all.end(), [](const Warning& w) {
    return w.message.starts_with("torn.wav comes after step-3, and it is excluded. The turn counts from the position in step-3.");
  }));
}
