// SPDX-License-Identifier: GPL-3.0-or-later
// Results of method version 3 that may not move silently: a change raises kMethodVersion and adds a line to docs/changelog.md.
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

constexpr double kRounding_deg = 1e-7;  // other compilers and libraries round otherwise; the method does not
constexpr double kRounding_db = 1e-6;

constexpr Frozen kMethod3[] = {
    {11, 0.5173603092, 0.0008490994, 0.5098477292, -0.567318383, -29.761300061},
    {12, -0.1912783735, 0.0006336383, -0.1811253829, 0.378229646, -32.519256387},
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
