// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/band_optimum.hpp"

#include "evenwall/solve.hpp"
#include "numeric/a_weighting.hpp"
#include "support/band_rigs.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"
#include "support/statistics.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;
using band_rigs::BandRig;

namespace {

/// Five steps from -2° to 2°; `gauge_deg`: standard deviation of each setting's error, which is stated.
Session session_of_band(const BandRig& rigs, double gauge_deg, double u, rig::Draw& draw) {
  Session session;
  session.facts.gauge_u_deg = gauge_deg;
  for (int i = 0; i < 5; ++i) {
    const double logged = -2.0 + i;
    session.steps.push_back(band_rigs::step(rigs, logged + gauge_deg * draw.normal(), logged, u, draw, i + 1));
  }
  return session;
}

double single_least_deg(const BandRig& rigs) {
  const auto at = std::find_if(rigs.begin(), rigs.end(), [](const auto& r) { return std::abs(r.frequency_hz - 1000) < 1; });
  return rig::least_truth_deg(at->rig);
}

bool holds(const Interval& interval, double value) { return interval[0] <= value && value <= interval[1]; }

BandPoint point(double offset_rad, const ResponseShape& shape, double weight) {
  BandPoint p;
  p.offset_rad = offset_rad;
  p.shape = shape;
  p.weight = weight;
  p.covariance.setZero();
  return p;
}

}  // namespace

TEST_CASE("For small angles the band's optima are the weighted means of the closed forms") {
  // φ0 in radians, σ, s_L, s_R and weight; least is Σ w φ0 / Σ w, and equal is Σ w (φ0 σ − η s) / Σ w σ with s and η the mean and half the
  // difference of the quadratures.
  rig::Draw draw(61);
  for (int i = 0; i < 20; ++i) {
    BandFit band;
    double w = 0, wphi = 0, ws = 0, wphis = 0;
    for (int k = 0; k < 6; ++k) {
      const double phi = draw.uniform(-2e-3, 2e-3), shear = draw.uniform(3e-3, 6e-3), weight = draw.uniform(0.2, 2);
      const double left = draw.uniform(-1e-3, 1e-3), right = draw.uniform(-1e-3, 1e-3);
      band.points.push_back(point(phi, {shear, 0, left, right}, weight));
      const double s = 0.5 * (left + right), eta = 0.5 * (left - right);
      w += weight, wphi += weight * phi, ws += weight * shear, wphis += weight * (phi * shear - eta * s);
    }
    const auto least = band_root(CriterionKind::kLeast, band), equal = band_root(CriterionKind::kEqual, band);
    REQUIRE(least);
    REQUIRE(equal);
    CHECK_THAT(degrees(least->offset_rad), WithinAbs(degrees(wphi / w), 1e-4));
    CHECK_THAT(degrees(equal->offset_rad), WithinAbs(degrees(wphis / ws), 1e-4));
  }
}

TEST_CASE("Band optima and the difference from one frequency agree with brute force, whatever the gauge shows") {
  rig::Draw draw(62);
  int equal_seen = 0;
  for (int i = 0; i < drawn(12); ++i) {
    const BandRig rigs = band_rigs::random_band_rig(draw);
    const Session session = session_of_band(rigs, i % 2 == 0 ? 0.0 : 0.1, 1e-6, draw);
    for (const Weighting weighting : {Weighting::kFlat, Weighting::kA}) {
      INFO("rig " << i << ", weighting " << static_cast<int>(weighting));
      const auto weight = [&](double f) {
        return weighting == Weighting::kA ? std::pow(10.0, internal::numeric::a_weighting_db(f) / 10) : 1.0;
      };
      SolveOptions options;
      options.weighting = weighting;
      const Solution s = solve(session, options);
      REQUIRE(s.band);
      CHECK(s.band->frequencies == 20);
      const double truth = band_rigs::least_deg(rigs, weight);
      CHECK_THAT(s.band->least_from_single_deg, WithinAbs(truth - single_least_deg(rigs), 0.001));
      CHECK(std::abs(*s.band->least.tilt_deg - truth) < 4 * *s.band->least.u_deg + 0.001);
      const auto equal = band_rigs::equal_deg(rigs, truth, weight);
      if (!equal || !s.band->equal.determined) continue;
      ++equal_seen;
      CHECK(std::abs(*s.band->equal.tilt_deg - *equal) < 4 * *s.band->equal.u_deg + 0.002);
      const auto [rl, lr] = band_rigs::powers(rigs, truth, weight);
      double weights = 0;
      for (const auto& at : rigs) weights += weight(at.frequency_hz);
      CHECK_THAT(s.band->total_db_at.band_least, WithinAbs(10 * std::log10(0.5 * (rl + lr) / weights), 0.02));
    }
  }
  CHECK(equal_seen >= drawn(12));
}

TEST_CASE("About 95 % of the intervals of the band's optima and of the difference contain the true value") {
  rig::Draw draw(63);
  int sessions = 0, least = 0, equals = 0, equal_held = 0, difference = 0;
  for (int i = 0; i < drawn(120); ++i) {
    const BandRig rigs = band_rigs::random_band_rig(draw, 27, 36);
    const double u = std::pow(10.0, draw.uniform(-4, -3));
    const Solution s = solve(session_of_band(rigs, i % 2 == 0 ? 0.0 : 0.02, u, draw), {});
    REQUIRE(s.band);
    const double truth = band_rigs::least_deg(rigs, band_rigs::flat);
    ++sessions;
    least += holds(*s.band->least.interval95_deg, truth) ? 1 : 0;
    const double apart = s.band->least_from_single_deg - (truth - single_least_deg(rigs));
    difference += std::abs(apart) <= 1.96 * s.band->u_least_from_single_deg ? 1 : 0;
    const auto equal = band_rigs::equal_deg(rigs, truth, band_rigs::flat);
    if (!equal || !s.band->equal.determined) continue;
    ++equals;
    equal_held += holds(*s.band->equal.interval95_deg, *equal) ? 1 : 0;
  }
  if (few_sessions()) return;
  // With 120 sessions one standard error is 2 points; three of them are allowed on either side of 95 %.
  INFO("of " << sessions << ": least " << least << ", difference " << difference << ", equal " << equal_held << " of " << equals);
  CHECK_THAT(100.0 * least / sessions, WithinAbs(95, 6));
  CHECK_THAT(100.0 * difference / sessions, WithinAbs(95, 6));
  CHECK_THAT(100.0 * equal_held / equals, WithinAbs(95, 6));
}

TEST_CASE("Frequencies within less than an octave, or one frequency, are not a band") {
  rig::Draw draw(64);
  const BandRig rigs = band_rigs::random_band_rig(draw, 27, 33);
  const Session session = session_of_band(rigs, 0.02, 1e-4, draw);
  SolveOptions options;
  CHECK(solve(session, options).band);
  options.band = BandLimits{900, 1700};
  CHECK_FALSE(solve(session, options).band);
  options.band = BandLimits{900, 2100};
  const auto band = solve(session, options).band;
  REQUIRE(band);
  CHECK(band->frequencies == 4);
  CHECK_THAT(band->from_hz, WithinAbs(1000, 1e-6));
  CHECK_THAT(band->to_hz, WithinAbs(1995.26, 0.01));
  CHECK_FALSE(solve(session_of_band(band_rigs::random_band_rig(draw, 30, 30), 0.02, 1e-4, draw), {}).band);
}

TEST_CASE("The band does not depend on the frequency of the answer, if this one is read beside the third octaves") {
  rig::Draw draw(66);
  BandRig rigs = band_rigs::random_band_rig(draw, 27, 38);
  const BandRig centres = rigs;
  rigs.push_back({1100, rigs[3].rig});
  rigs.back().rig.delta_left_deg += 0.5;  // far off, so that it would move the band if it counted
  std::sort(rigs.begin(), rigs.end(), [](const auto& a, const auto& b) { return a.frequency_hz < b.frequency_hz; });
  rig::Draw noise(67), same_noise(67);
  SolveOptions at_1100;
  at_1100.frequency_hz = 1100;
  const Solution with = solve(session_of_band(rigs, 0.0, 1e-6, noise), at_1100);
  const Solution without = solve(session_of_band(centres, 0.0, 1e-6, same_noise), {});
  REQUIRE(with.band);
  REQUIRE(without.band);
  CHECK_THAT(with.frequency_hz, WithinAbs(1100, 1));
  CHECK(with.band->frequencies == without.band->frequencies);
  CHECK_THAT(*with.band->least.tilt_deg, WithinAbs(*without.band->least.tilt_deg, 5e-4));
}

TEST_CASE("Power about the means of the third octaves moves equal crosstalk and the total over a band, and not least crosstalk") {
  rig::Draw draw(66);
  const BandRig rigs = band_rigs::random_band_rig(draw);
  Session session = session_of_band(rigs, 0, 1e-7, draw);
  const Solution without = solve(session, {});
  constexpr double kPowerRl = 9e-5, kPowerLr = 1e-5;
  for (Step& step : session.steps) {
    for (LeakPair& pair : measurement_of(step).crosstalk_spectrum) {
      // A ratio contains the gain ratio, left over right, of which re and im are free.
      const double gain =
          std::abs(pair.right_into_left->same_passage.value) / std::hypot(*pair.right_into_left->re, *pair.right_into_left->im);
      pair.right_into_left->same_passage.rms_in_third_octave = std::sqrt(kPowerRl) * gain;
      pair.left_into_right->same_passage.rms_in_third_octave = std::sqrt(kPowerLr) / gain;
    }
  }
  const Solution with = solve(session, {});
  REQUIRE((with.band && without.band && with.band->equal.determined));
  const double least_deg = with.band->least.tilt_deg.value();
  CHECK_THAT(least_deg, WithinAbs(without.band->least.tilt_deg.value(), 1e-4));
  const auto n = static_cast<double>(rigs.size());
  const auto difference = [&](double tilt_deg) {
    const auto [rl, lr] = band_rigs::powers(rigs, tilt_deg, band_rigs::flat);
    return rl - lr + n * (kPowerRl - kPowerLr);
  };
  const double equal_deg = *with.band->equal.tilt_deg, step_deg = 1e-3;
  const double slope = (difference(equal_deg + step_deg) - difference(equal_deg - step_deg)) / (2 * step_deg);
  CHECK_THAT(equal_deg - difference(equal_deg) / slope, WithinAbs(equal_deg, 1e-3));  // a step of Newton's method stays there
  CHECK(std::abs(equal_deg - *without.band->equal.tilt_deg) > 0.01);
  const auto [rl, lr] = band_rigs::powers(rigs, least_deg, band_rigs::flat);
  CHECK_THAT(with.band->total_db_at.band_least, WithinAbs(10 * std::log10(0.5 * ((rl + lr) / n + kPowerRl + kPowerLr)), 0.01));
}
