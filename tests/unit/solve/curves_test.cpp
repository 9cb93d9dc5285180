// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/curves.hpp"

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

TEST_CASE("The curves follow the true crosstalk at each tilt and lie within their bands") {
  rig::Draw draw(21);
  const rig::Rig r = rig::random_rig(draw);
  const Solution s = solve(session_of(r, {-2, -1, 0, 1, 2}, 1e-5, draw, 0.0), {});
  REQUIRE(s.curves.tilt_deg.size() == s.curves.left_into_right_band95_db.size());
  CHECK(s.curves.tilt_deg.front() < -2);
  CHECK(s.curves.tilt_deg.back() > 2);
  for (std::size_t i = 0; i < s.curves.tilt_deg.size(); ++i) {
    const double t = s.curves.tilt_deg[i];
    INFO("tilt " << t);
    CHECK_THAT(amplitude_ratio(s.curves.right_into_left_db[i]), WithinAbs(std::abs(rig::leak_rl(r, t)), 5e-5));
    CHECK_THAT(amplitude_ratio(s.curves.left_into_right_db[i]), WithinAbs(std::abs(rig::leak_lr(r, t)), 5e-5));
    CHECK(s.curves.right_into_left_band95_db[i][0] <= s.curves.right_into_left_db[i]);
    CHECK(s.curves.right_into_left_db[i] <= s.curves.right_into_left_band95_db[i][1]);
  }
}
