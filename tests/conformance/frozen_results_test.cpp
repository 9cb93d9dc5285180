// SPDX-License-Identifier: GPL-3.0-or-later
// Checks that the results of method version 3 do not change silently: a change must raise kMethodVersion and add a line to
// docs/changelog.md.
#include "base/version.hpp"
#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/session_of.hpp"

using namespace evenwall;
using namespace evenwall::internal::base;

namespace {

struct Frozen {
  std::uint64_t seed;
  double recommended_deg, u_deg, least_deg, balance_db, least_rms_db;
};

constexpr double kRounding_deg = 1e-7;  // other compilers and libraries round differently; the method is the same
constexpr double kRounding_db = 1e-6;

constexpr Frozen kMethod3[] = {
    {11, 0.5172674061, 0.0008148142, 0.509762208, -0.567269048, -29.761714631},
    {12, -0.1909985004, 0.0006159626, -0.1808897958, 0.378926302, -32.520175188},
};

}  // namespace

TEST_CASE("Frozen results of method version 3") {
  REQUIRE(kMethodVersion == 3);
  for (const Frozen& frozen : kMethod3) {
    const Solution s = solve(measured_session(SimulatedSession(random_scenario(frozen.seed, 4.5), frozen.seed)), {});
    INFO("seed " << frozen.seed);
    CHECK_THAT(s.recommended.tilt_deg, WithinAbs(frozen.recommended_deg, kRounding_deg));
    CHECK_THAT(s.recommended.u_deg, WithinAbs(frozen.u_deg, kRounding_deg));
    CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(frozen.least_deg, kRounding_deg));
    CHECK_THAT(*s.balance.from_tilt_response_db, WithinAbs(frozen.balance_db, kRounding_db));
    CHECK_THAT(s.not_correctable.least_rms_crosstalk_db, WithinAbs(frozen.least_rms_db, kRounding_db));
  }
}
