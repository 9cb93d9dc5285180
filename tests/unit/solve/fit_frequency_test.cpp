// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/fit_frequency.hpp"

#include "evenwall/error.hpp"
#include "support/catch.hpp"
#include "support/measurement_of.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

/// A step with crosstalk both ways at each of `leaks_hz`; its passages are tones at `tones_hz`.
Step step_at(const std::vector<double>& leaks_hz, const std::vector<double>& tones_hz) {
  Step step;
  for (const double f : leaks_hz) {
    LeakPair pair;
    pair.frequency_hz = f;
    pair.right_into_left = pair.left_into_right = Leak{};
    measurement_of(step).crosstalk_spectrum.push_back(pair);
  }
  for (const double f : tones_hz) {
    Passage passage;
    passage.kind = PassageKind::kTone;
    passage.driven = Driven::kLeft;
    passage.frequency_hz = f;
    measurement_of(step).passages.push_back(passage);
  }
  return step;
}

double chosen_hz(const std::vector<Step>& steps, OptionalNumber asked_hz = std::nullopt) {
  Session session;
  session.steps = steps;
  SolveOptions options;
  options.frequency_hz = asked_hz;
  return fit_frequency_hz(session, options);
}

}  // namespace

TEST_CASE("The frequency that most steps share is chosen, and frequencies that differ by 5 % count as shared") {
  CHECK(chosen_hz({step_at({1000, 3000}, {}), step_at({3100}, {}), step_at({3010}, {})}) == 3000);
  CHECK(chosen_hz({step_at({1000, 3000}, {}), step_at({3160}, {})}) == 1000);  // 5.3 % apart: no frequency is shared
}

TEST_CASE("Among equally shared frequencies a tone is preferred, then the one nearest to 1 kHz or to the request") {
  CHECK(chosen_hz({step_at({900, 3000}, {3000}), step_at({900, 3000}, {3000})}) == 3000);
  CHECK(chosen_hz({step_at({500, 900, 3000}, {}), step_at({500, 900, 3000}, {})}) == 900);
  CHECK(chosen_hz({step_at({980, 1010, 3000}, {})}, 1000.0) == 1010);  // ratios 1.020 and 1.010
}

TEST_CASE("A session without a step to be fitted is refused, and the message states the reason") {
  Session session;
  session.steps.push_back(step_at({1000}, {1000}));
  session.steps.back().log.use = StepUse::kVerify;
  try {
    fit_frequency_hz(session, {});
    FAIL("a frequency was returned");
  } catch (const Error& error) {
    CHECK_THAT(error.what(), ContainsSubstring("no step has `use` yes"));
  }
}

TEST_CASE("A frequency at which no step has both sides is refused") {
  CHECK_THROWS_AS(chosen_hz({step_at({}, {1000})}), Error);
  CHECK_THROWS_AS(chosen_hz({step_at({1000}, {})}, 3000.0), Error);
  Step unused = step_at({1000}, {});
  unused.log.use = StepUse::kNo;
  CHECK_THROWS_AS(chosen_hz({unused}), Error);
}
