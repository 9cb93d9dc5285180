// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/frequency_fits.hpp"

#include "support/band_rigs.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

TEST_CASE("Each shared frequency is fitted once, in ascending order, and the session's own fit is among them") {
  rig::Draw draw(91);
  const auto rigs = band_rigs::random_band_rig(draw, 28, 33);
  Session session;
  session.facts.gauge_u_deg = 0.01;
  for (int i = 0; i < 4; ++i) session.steps.push_back(band_rigs::step(rigs, -1.5 + i, -1.5 + i, 1e-5, draw, i + 1));
  // One frequency that a single step has by itself cannot be solved, and is skipped.
  LeakPair alone = measurement_of(session.steps[0]).crosstalk_spectrum.back();
  alone.frequency_hz = 12000;
  alone.left_into_right.reset();
  measurement_of(session.steps[0]).crosstalk_spectrum.push_back(alone);
  const JointFit answer = fit_jointly(session, {});
  const FrequencyFits all = fits_by_frequency(session, {}, answer);
  REQUIRE(all.fits.size() == 6);
  REQUIRE(all.answered);
  CHECK_THAT(all.fits[*all.answered].observations.frequency_hz, WithinAbs(1000, 1e-6));
  const auto results = results_by_frequency(all, 0.0);
  REQUIRE(results.size() == 6);
  for (std::size_t k = 0; k < 6; ++k) {
    CHECK_THAT(results[k].frequency_hz, WithinRel(rigs[k].frequency_hz, 1e-9));
    CHECK_THAT(results[k].least_crosstalk_deg, WithinAbs(rig::least_truth_deg(rigs[k].rig), 0.02));
  }
}
