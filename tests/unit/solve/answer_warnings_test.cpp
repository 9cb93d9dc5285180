// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/answer_warnings.hpp"

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

/// Tilts that count from least crosstalk of the rig.
Solution solved(const std::vector<double>& from_least_deg, bool logged) {
  rig::Draw draw(2);
  const rig::Rig r = rig::random_rig(draw);
  std::vector<double> tilts;
  for (const double t : from_least_deg) tilts.push_back(rig::least_truth_deg(r) + t);
  Session session = session_of(r, tilts, 1e-6, draw, 0.001);
  session.facts.stylus = Stylus{};
  session.facts.stylus->tilt_limit_deg = 0.01;
  if (!logged) {
    for (Step& step : session.steps) step.log.tilt_deg.reset();
  }
  return solve(session, {});
}

}  // namespace

TEST_CASE("an answer outside the captured tilts is reported, with and without a log") {
  for (const bool logged : {true, false}) {
    CHECK(says(solved({1, 2, 3}, logged).warnings, WarningCode::kExtrapolated));
    CHECK_FALSE(says(solved({-2, 1, 3}, logged).warnings, WarningCode::kExtrapolated));
  }
}

TEST_CASE("without a log, the angle from upright is not known, so no limit is judged") {
  CHECK(says(solved({-2, 1, 3}, true).warnings, WarningCode::kBeyondContactLimit));
  const Solution turn = solved({-2, 1, 3}, false);
  CHECK_FALSE(says(turn.warnings, WarningCode::kBeyondContactLimit));
  CHECK(turn.contact.limit_deg == 0.01);
  CHECK_FALSE(turn.contact.inside.has_value());
}

TEST_CASE("a contact limit that was stated is not called a rule of thumb") {
  rig::Draw draw(441);
  const rig::Rig r = rig::random_rig(draw);
  const auto told = [&](const SolveOptions& options, const OptionalNumber& radius_um) {
    Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.02);
    if (radius_um) session.facts.stylus = Stylus{{}, radius_um, {}, 4.0};  // upright at 4°, far from the optimum
    for (const Warning& w : solve(session, options).warnings) {
      if (w.code == WarningCode::kBeyondContactLimit) return w.message;
    }
    return std::string();
  };
  SolveOptions stated;
  stated.tilt_limit_deg = 0.001;
  CHECK(holds(told(stated, std::nullopt), "You stated this limit."));
  CHECK(holds(told({}, 100.0), "a rule of thumb by the radius"));
}
