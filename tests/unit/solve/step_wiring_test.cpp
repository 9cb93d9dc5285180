// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/step_wiring.hpp"

#include "evenwall/solve.hpp"
#include "solve/joint_fit.hpp"
#include "solve/method_constants.hpp"
#include "support/catch.hpp"
#include "support/recordings.hpp"
#include "support/statistics.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;
using recordings::bench, recordings::Bench;

TEST_CASE("Recordings with different wiring are corrected and named, whichever they are") {
  for (std::uint64_t seed = 1; seed <= drawn(20U); ++seed) {
    INFO("seed " << seed);
    const Bench right = bench(seed);
    const Solution expected = solve(right.session, {});
    rig::Draw draw(seed + 300);
    const auto one = static_cast<std::size_t>(draw.uniform(0, 5)), two = (one + 1 + static_cast<std::size_t>(draw.uniform(0, 4))) % 5;
    Session reversed = right.session, both_reversed = right.session, swapped = right.session, mixed = right.session;
    recordings::reverse(reversed.steps[one]);
    recordings::reverse(both_reversed.steps[one]);
    recordings::reverse(both_reversed.steps[two]);
    swap_channels_of(swapped.steps[one]);
    swap_channels_of(mixed.steps[one]);
    recordings::reverse(mixed.steps[two]);
    for (const Session* session : {&reversed, &both_reversed, &swapped, &mixed}) {
      const Solution s = solve(*session, {});
      CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(expected.least_crosstalk.tilt_deg, 0.01 * expected.least_crosstalk.u_deg));
      CHECK_THAT(s.least_crosstalk.u_deg, WithinRel(expected.least_crosstalk.u_deg, 0.01));
      CHECK(says(s.warnings, WarningCode::kPolarityReversed) == (session != &swapped));
      CHECK(says(s.warnings, WarningCode::kSwappedOrReversed) == (session == &swapped || session == &mixed));
      CHECK_FALSE(says(s.warnings, WarningCode::kLeaksOff));
      // The values listed for each step are those of the cartridge.
      for (std::size_t i = 0; i < 5; ++i) {
        CHECK_THAT(s.steps[i].right_into_left_db, WithinAbs(expected.steps[i].right_into_left_db, 0.01));
        CHECK_THAT(*s.steps[i].balance_db, WithinAbs(*expected.steps[i].balance_db, 1e-3));
      }
    }
  }
}

TEST_CASE("Of two recordings neither is reported as wrongly wired, and of four recordings two are not") {
  rig::Draw draw(3);
  Bench two = bench(3, {-1, 1});
  recordings::reverse(two.session.steps[0]);
  CHECK(step_wiring(observations_of(two.session, {}).fitted, {0, 0.035, 0}).empty());
  Bench four = bench(4, {-2, -1, 1, 2});
  recordings::reverse(four.session.steps[0]);
  recordings::reverse(four.session.steps[3]);
  CHECK(step_wiring(observations_of(four.session, {}).fitted, {0, 0.035, 0}).empty());
}
