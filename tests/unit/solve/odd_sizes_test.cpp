// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/odd_sizes.hpp"

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"
#include "support/statistics.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

TEST_CASE("A mistyped number in a meter table excludes its row, and no good row is excluded") {
  int named = 0, others = 0;
  for (std::uint64_t seed = 1; seed <= drawn(20U); ++seed) {
    rig::Draw draw(seed);
    const rig::Rig r = rig::random_rig(draw);
    Session session = metered(r, 6, 3, 0.05, 0.1, seed % 2 == 0, draw);
    INFO("seed " << seed);
    CHECK(set_aside(solve(session, {})).empty());
    Step& step = session.steps[seed % 6];
    Complex& size = measurement_of(step).crosstalk_spectrum.front().right_into_left->same_passage.value;
    shift_leak(*measurement_of(step).crosstalk_spectrum.front().right_into_left,
               size * (seed % 3 == 0 ? -0.9 : 9.0));  // ten times too low or too high: 20 dB
    for (const std::string& name : set_aside(solve(session, {}))) ++(name == step.log.capture ? named : others);
  }
  CHECK(named >= (few_sessions() ? 1 : 18));
  CHECK(others == 0);
}
