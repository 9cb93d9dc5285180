// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/frequency_fits.hpp"

#include "solve/band_optimum.hpp"
#include "solve/choice.hpp"
#include "support/band_rigs.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

std::vector<FrequencyResult> results_of(const JointFit& answer, const FrequencyFits& all) {
  return results_by_frequency(all, *criterion_tilt(CriterionKind::kLeast, answer.tilt), judged(CriterionKind::kEqual, answer.tilt).told,
                              0.0);
}

}  // namespace

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
  const auto results = results_of(answer, all);
  REQUIRE(results.size() == 6);
  for (std::size_t k = 0; k < 6; ++k) {
    CHECK_THAT(results[k].frequency_hz, WithinRel(rigs[k].frequency_hz, 1e-9));
    CHECK_THAT(results[k].least_crosstalk_deg, WithinAbs(rig::least_truth_deg(rigs[k].rig), 0.02));
  }
}

TEST_CASE("The tilts of two frequencies differ by what the signal shows, however large the errors of the gauge are") {
  for (const bool is_stated : {true, false}) {
    rig::Draw draw(92);
    const auto rigs = band_rigs::random_band_rig(draw, 28, 33);
    Session session;
    if (is_stated) session.facts.gauge_u_deg = 0.2;
    for (int i = 0; i < 6; ++i) session.steps.push_back(band_rigs::step(rigs, -2.5 + i + 0.2 * draw.normal(), -2.5 + i, 1e-5, draw, i + 1));
    const JointFit answer = fit_jointly(session, {});
    const CriterionTilt least = *criterion_tilt(CriterionKind::kLeast, answer.tilt);
    const FrequencyFits all = fits_by_frequency(session, {}, answer);
    const auto results = results_of(answer, all);
    REQUIRE(results.size() == 6);
    CHECK(results[*all.answered].least_crosstalk_deg == least.tilt_deg);
    CHECK(results[*all.answered].u_least_crosstalk_deg == least.u_deg);
    for (std::size_t k = 0; k < 6; ++k) {
      INFO("stated " << is_stated << ", " << results[k].frequency_hz << " Hz");
      const double moved_deg = rig::least_truth_deg(rigs[k].rig) - rig::least_truth_deg(rigs[*all.answered].rig);
      CHECK_THAT(results[k].least_crosstalk_deg - least.tilt_deg, WithinAbs(moved_deg, 0.004));
      // The gauge dominates, and it is the same at all frequencies.
      CHECK_THAT(results[k].u_least_crosstalk_deg, WithinRel(least.u_deg, 0.02));
    }
  }
}

TEST_CASE("A recording that is excluded or corrected at the session's frequency is so at the others") {
  rig::Draw draw(93);
  const auto rigs = band_rigs::random_band_rig(draw, 28, 33);
  Session session;
  session.facts.gauge_u_deg = 0.01;
  for (int i = 0; i < 6; ++i) session.steps.push_back(band_rigs::step(rigs, -2.5 + i, -2.5 + i, 1e-5, draw, i + 1));
  for (LeakPair& pair : measurement_of(session.steps[2]).crosstalk_spectrum) shift_leak(*pair.right_into_left, {0.02, 0.01});
  measurement_of(session.steps[2]).crosstalk = measurement_of(session.steps[2]).crosstalk_spectrum[2];
  const JointFit answer = fit_jointly(session, {});
  REQUIRE(answer.observations.set_aside == std::vector<std::size_t>{2});
  const FrequencyFits all = fits_by_frequency(session, {}, answer);
  REQUIRE(all.fits.size() == 6);
  for (const JointFit& at : all.fits) {
    CHECK(at.observations.fitted.size() == 5);
    CHECK(at.tilt.accounts.empty() == (&at != &all.fits[*all.answered]));
  }
  for (const FrequencyResult& r : results_of(answer, all)) {
    const auto at =
        std::find_if(rigs.begin(), rigs.end(), [&](const auto& one) { return std::abs(one.frequency_hz - r.frequency_hz) < 1; });
    CHECK_THAT(r.least_crosstalk_deg, WithinAbs(rig::least_truth_deg(at->rig), 4 * r.u_least_crosstalk_deg));
  }
}

TEST_CASE("A recording that only another frequency contradicts is settled there") {
  rig::Draw draw(94);
  const auto rigs = band_rigs::random_band_rig(draw, 28, 33);
  Session session;
  session.facts.gauge_u_deg = 0.01;
  for (int i = 0; i < 6; ++i) session.steps.push_back(band_rigs::step(rigs, -2.5 + i, -2.5 + i, 1e-5, draw, i + 1));
  shift_leak(*measurement_of(session.steps[4]).crosstalk_spectrum[5].right_into_left, {0.02, 0.01});
  const FrequencyFits all = fits_by_frequency(session, {}, fit_jointly(session, {}));
  REQUIRE(all.fits.size() == 6);
  for (std::size_t k = 0; k < 6; ++k) CHECK(all.fits[k].observations.fitted.size() == (k == 5 ? 5U : 6U));
}

TEST_CASE("A frequency at which the crosstalk runs against that of the session is not listed") {
  rig::Draw draw(95);
  const auto rigs = band_rigs::random_band_rig(draw, 28, 33);
  Session session;
  session.facts.gauge_u_deg = 0.01;
  for (int i = 0; i < 6; ++i) {
    session.steps.push_back(band_rigs::step(rigs, -2.5 + i, -2.5 + i, 1e-5, draw, i + 1));
    LeakPair& pair = measurement_of(session.steps.back()).crosstalk_spectrum[4];
    for (auto* leak : {&*pair.right_into_left, &*pair.left_into_right}) {
      leak->same_passage.value = -leak->same_passage.value;
      leak->re = -*leak->re;
      leak->im = -*leak->im;
    }
  }
  const JointFit answer = fit_jointly(session, {});
  const FrequencyFits all = fits_by_frequency(session, {}, answer);
  CHECK(all.fits.size() == 6);
  CHECK_FALSE(band_point(answer, all.fits[4]));
  const auto results = results_of(answer, all);
  CHECK(results.size() == 5);
}

TEST_CASE("A level that is wrong at one frequency does not spoil the tilt there") {
  rig::Draw draw(96);
  const auto rigs = band_rigs::random_band_rig(draw, 28, 33);
  Session session;
  session.facts.gauge_u_deg = 0.01;
  for (int i = 0; i < 6; ++i) session.steps.push_back(band_rigs::step(rigs, -2.5 + i, -2.5 + i, 1e-5, draw, i + 1));
  // The level ratio is same_passage over (re, im). Here it is 17 dB too small in one step.
  LeakPair& pair = measurement_of(session.steps[1]).crosstalk_spectrum[4];
  pair.right_into_left->re = 7 * *pair.right_into_left->re;
  pair.right_into_left->im = 7 * *pair.right_into_left->im;
  const JointFit answer = fit_jointly(session, {});
  const auto results = results_of(answer, fits_by_frequency(session, {}, answer));
  REQUIRE(results.size() == 6);
  CHECK_THAT(results[4].least_crosstalk_deg, WithinAbs(rig::least_truth_deg(rigs[4].rig), 4 * results[4].u_least_crosstalk_deg));
  CHECK(results[4].u_least_crosstalk_deg < 0.02);
}
