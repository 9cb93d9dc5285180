// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/signal_scale.hpp"

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/rig.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

/// What the steps show of κ = k(1 + s), and of φ = φ0(1 + s) for a given κ: φ = at + by(κ − scale) ± rest.
struct Steps {
  double scale, u, at_rad, by, rest_rad;
};

/// Mean and standard deviation of the true φ0 and of φ0/k, and the evidence of one case.
struct Truth {
  double evidence = 0, least = 0, u_least = 0, u_setting = 0;
};

/// By sums over a grid of k and s, with κ = k(1 + s) as a product.
Truth by_grid(const Steps& steps, const ScalePrior& k_prior, const SignalScale& s_prior) {
  constexpr int kPoints = 400;
  const auto density = [](double x, double mean, double u) { return std::exp(-0.5 * (x - mean) * (x - mean) / (u * u)) / u; };
  double weight = 0, first = 0, second = 0, setting = 0, setting2 = 0;
  for (int i = 0; i < kPoints; ++i) {
    const double k = k_prior.centre + k_prior.u * 12 * ((i + 0.5) / kPoints - 0.5);
    for (int j = 0; j < kPoints; ++j) {
      const double s = s_prior.s + s_prior.u * 12 * ((j + 0.5) / kPoints - 0.5);
      const double kappa = k * (1 + s);
      const double w = density(k, k_prior.centre, k_prior.u) * density(s, s_prior.s, s_prior.u) * density(kappa, steps.scale, steps.u);
      const double phi = steps.at_rad + steps.by * (kappa - steps.scale);
      const double true_phi = phi / (1 + s), number = phi / kappa;
      weight += w;
      first += w * true_phi;
      second += w * (true_phi * true_phi + std::pow(steps.rest_rad / (1 + s), 2));
      setting += w * number;
      setting2 += w * (number * number + std::pow(steps.rest_rad / kappa, 2));
    }
  }
  const double mean = first / weight, number = setting / weight;
  const double cell = k_prior.u * 12 / kPoints * s_prior.u * 12 / kPoints;
  return {weight * cell, mean, std::sqrt(second / weight - mean * mean), std::sqrt(setting2 / weight - number * number)};
}

/// The account that a fit of these steps gives with the prior of k.
TiltAccount fitted(const Steps& steps, const ScalePrior& prior) {
  TiltAccount account;
  account.probability = 1;
  account.scale_prior = prior;
  account.scale_prior_used = true;
  const double variance = 1 / (1 / (steps.u * steps.u) + 1 / (prior.u * prior.u));
  account.scale = variance * (steps.scale / (steps.u * steps.u) + prior.centre / (prior.u * prior.u));
  account.least_rad = steps.at_rad + steps.by * (account.scale - steps.scale);
  account.common = Eigen::VectorXd::Zero(kCommonSize);
  account.covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  account.covariance(1, 1) = variance;
  account.covariance(0, 1) = account.covariance(1, 0) = steps.by * variance;
  account.covariance(0, 0) = steps.by * steps.by * variance + steps.rest_rad * steps.rest_rad;
  account.known_covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  account.signal_covariance = Eigen::MatrixXd::Zero(kCommonSize, kCommonSize);
  return account;
}

double u_setting(const TiltAccount& a) {
  const double v = a.least_rad / a.scale;
  return std::sqrt(a.covariance(0, 0) - 2 * v * a.covariance(0, 1) + v * v * a.covariance(1, 1)) / std::abs(a.scale);
}

/// Makes the crosstalk too large by 1 + c, and gives the tones this third harmonic.
void compress(Session& session, double c, OptionalNumber third_percent) {
  for (Step& step : session.steps) {
    Measurement& m = measurement_of(step);
    for (auto* leak : {&m.crosstalk.right_into_left, &m.crosstalk.left_into_right}) shift_leak(**leak, c * (*leak)->same_passage.value);
    m.crosstalk_spectrum = {m.crosstalk};
    for (Passage& p : m.passages) p.third_harmonic_percent = third_percent;
  }
}

Session compressed_session(const rig::Rig& r, double c, OptionalNumber third_percent, rig::Draw& draw) {
  Session session = session_of(r, {-2, -1, 0, 1, 2}, 1e-4, draw, 0.02);
  compress(session, c, third_percent);
  return session;
}

}  // namespace

TEST_CASE("The cases of the signal's scale agree with sums over a grid of the gauge's and the signal's scale") {
  const ScalePrior prior{1, 0.02};
  const SignalScale compressed{0.3, 0.03, 0.012};
  for (const Steps& steps : {Steps{1.03, 0.004, radians(1.1), 0.01, radians(0.01)}, Steps{1.0, 0.03, radians(-2), -0.02, radians(0.02)}}) {
    INFO("scale by the steps " << steps.scale);
    std::vector<TiltAccount> accounts{fitted(steps, prior)};
    add_signal_scales({{0.7, 0, 0}, compressed}, accounts);
    REQUIRE(accounts.size() == 2);
    const Truth with = by_grid(steps, prior, compressed), without = by_grid(steps, prior, {0.7, 0, 1e-7});
    const double odds = accounts[1].probability / accounts[0].probability;
    CHECK_THAT(odds, WithinRel(0.3 / 0.7 * with.evidence / without.evidence, 0.03));
    CHECK_THAT(accounts[0].probability + accounts[1].probability, WithinAbs(1, 1e-12));
    const TiltAccount& a = accounts[1];
    CHECK_THAT(a.least_rad, WithinAbs(with.least, 0.03 * with.u_least));
    CHECK_THAT(std::sqrt(a.covariance(0, 0)), WithinRel(with.u_least, 0.03));
    CHECK_THAT(u_setting(a), WithinRel(with.u_setting, 0.03));
    CHECK(a.signal_case == 1);
  }
}

TEST_CASE("A scale of the signal of exactly one changes no account") {
  const Steps steps{1.01, 0.004, radians(1.1), 0.01, radians(0.01)};
  const TiltAccount before = fitted(steps, {1, 0.02});
  std::vector<TiltAccount> accounts{before};
  add_signal_scales({{1, 0, 0}}, accounts);
  REQUIRE(accounts.size() == 1);
  CHECK(accounts[0].least_rad == before.least_rad);
  CHECK(accounts[0].covariance == before.covariance);
  CHECK(accounts[0].signal_scale == 1);
}

TEST_CASE("Without a log in degrees, the signal's scale keeps its prior") {
  TiltAccount account = fitted({1, 0.01, radians(1), 0, radians(0.01)}, {1, 0.02});
  account.scale_prior.reset();
  account.scale_prior_used = false;
  std::vector<TiltAccount> accounts{account};
  add_signal_scales({{0.9, 0, 0}, {0.1, 0.04, 0.01}}, accounts);
  const auto learnt = learnt_scales(accounts);
  REQUIRE(learnt.size() == 2);
  CHECK_THAT(learnt[1].probability, WithinAbs(0.1, 1e-12));
  CHECK_THAT(learnt[1].s, WithinAbs(0.04, 1e-12));
  CHECK_THAT(learnt[1].u, WithinAbs(0.01, 1e-12));
  const SignalScale all = overall_scale(accounts);
  CHECK_THAT(all.s, WithinAbs(0.004, 1e-12));
  CHECK_THAT(all.u, WithinAbs(std::sqrt(0.1 * (0.0016 + 0.0001) - 0.004 * 0.004), 1e-12));
}

TEST_CASE("A measured third harmonic limits the compression, and a large one makes it likely") {
  const auto none = signal_scales(0, std::nullopt), little = signal_scales(0, 0.1), much = signal_scales(0, 1.5);
  CHECK(none[1].probability < 0.025);
  CHECK(little[1].probability == none[1].probability);
  CHECK(little[1].s + 2 * little[1].u < 0.005);
  CHECK(much[1].probability > 0.5);
  CHECK(std::abs(0.045 - much[1].s) < 1.96 * much[1].u);  // a cubic curve
  CHECK_THAT(signal_scales(0.02, std::nullopt)[0].u, WithinAbs(0.02 / std::sqrt(2), 1e-12));
}

TEST_CASE("The third harmonic is the median over the tones of one channel near the answer's frequency") {
  rig::Draw draw(3);
  Session session = compressed_session(rig::random_rig(draw), 0, 0.4, draw);
  CHECK_THAT(third_harmonic_percent(session, 1000).value(), WithinAbs(0.4, 1e-12));
  measurement_of(session.steps[0]).passages[0].third_harmonic_percent = 15;  // one damaged band does not count
  CHECK_THAT(third_harmonic_percent(session, 1000).value(), WithinAbs(0.4, 1e-12));
  CHECK_FALSE(third_harmonic_percent(session, 300));
  for (Step& step : session.steps) step.log.use = StepUse::kNo;
  CHECK_FALSE(third_harmonic_percent(session, 1000));
}

TEST_CASE("Intervals of degrees hold on a compressed channel if its third harmonic is measured") {
  rig::Draw draw(77);
  int held_without = 0, held_with = 0, named = 0;
  constexpr int kSessions = 200;
  for (int i = 0; i < kSessions; ++i) {
    const rig::Rig r = rig::random_rig(draw);
    const double least = rig::least_truth_deg(r);
    rig::Draw again = draw;
    const auto holds = [&](const Solution& s) {
      return s.least_crosstalk.interval95_deg[0] <= least && least <= s.least_crosstalk.interval95_deg[1];
    };
    const Solution unmeasured = solve(compressed_session(r, 0.03, std::nullopt, again), {});
    held_without += holds(unmeasured) ? 1 : 0;
    const Solution measured = solve(compressed_session(r, 0.03, 1.0, draw), {});
    held_with += holds(measured) ? 1 : 0;
    named += says(measured.warnings, WarningCode::kCompressed) ? 1 : 0;
    // The number to set on the gauge does not depend on the signal's scale.
    if (measured.recommended.basis == unmeasured.recommended.basis) {
      CHECK_THAT(*measured.recommended.tilt_units, WithinAbs(*unmeasured.recommended.tilt_units, 0.25 * *measured.recommended.u_units));
      CHECK_THAT(*measured.recommended.u_units, WithinRel(*unmeasured.recommended.u_units, 0.1));
    }
  }
  INFO(held_without << " held without and " << held_with << " with a harmonic; " << named << " named");
  CHECK(held_without < 0.85 * kSessions);
  CHECK(held_with >= 0.92 * kSessions);
  CHECK(named > 0.5 * kSessions);
}

TEST_CASE("A gauge with an exact scale does not hide a compression, and its steps are not blamed for it") {
  rig::Draw draw(41);
  int held = 0, named = 0, blamed = 0;
  constexpr int kSessions = 60;
  for (int i = 0; i < kSessions; ++i) {
    const rig::Rig r = rig::random_rig(draw);
    Session session = session_of(r, {}, 1e-4, draw, 0.01);
    for (const double logged : {-2.0, -1.0, 0.0, 1.0, 2.0}) {
      session.steps.push_back(rig::step(r, logged + 0.01 * draw.normal(), logged, 1e-4, draw, static_cast<int>(session.steps.size())));
    }
    compress(session, 0.03, 1.0);
    session.facts.gauge_scale_u = 0;
    const Solution s = solve(session, {});
    const double least = rig::least_truth_deg(r);
    held += s.least_crosstalk.interval95_deg[0] <= least && least <= s.least_crosstalk.interval95_deg[1] ? 1 : 0;
    named += says(s.warnings, WarningCode::kCompressed) ? 1 : 0;
    blamed += says(s.warnings, WarningCode::kGaugeUnderstated) || says(s.warnings, WarningCode::kStepOff) ||
                      says(s.warnings, WarningCode::kScaleOff)
                  ? 1
                  : 0;
  }
  INFO(held << " held, " << named << " named, " << blamed << " blamed");
  CHECK(held >= 0.9 * kSessions);
  CHECK(named >= 0.9 * kSessions);
  CHECK(blamed <= 0.05 * kSessions);
}

TEST_CASE("The turn from a recording holds on a channel that is compressed too little to be reported") {
  rig::Draw draw(42);
  int held = 0;
  constexpr int kSessions = 100;
  for (int i = 0; i < kSessions; ++i) {
    const rig::Rig r = rig::random_rig(draw);
    Session session = session_of(r, {-1, 0, 1, 2, 3}, 2e-5, draw, 0.01);
    compress(session, 0.012, 0.4);
    SolveOptions options;
    options.aim = Aim::kLeast;
    const Solution s = solve(session, options);
    REQUIRE(s.now);
    const double turn = rig::least_truth_deg(r) - 3;
    held += s.now->interval95_deg[0] <= turn && turn <= s.now->interval95_deg[1] ? 1 : 0;
  }
  INFO(held << " held");
  CHECK(held >= 0.92 * kSessions);
}
