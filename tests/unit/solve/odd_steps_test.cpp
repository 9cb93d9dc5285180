// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/odd_steps.hpp"

#include "evenwall/error.hpp"
#include "evenwall/solve.hpp"
#include "solve/joint_fit.hpp"
#include "support/catch.hpp"
#include "support/recordings.hpp"
#include "support/solve_session.hpp"
#include "support/statistics.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

const std::vector<double> kFive{-2, -1, 0, 1, 2};
const std::vector<double> kFour{-2, -0.7, 0.7, 2};
constexpr double kLeak_u = 2e-5;

Session five_steps(std::uint64_t seed, const std::vector<double>& tilts_deg = kFive) {
  rig::Draw draw(seed);
  return session_of(rig::random_rig(draw), tilts_deg, kLeak_u, draw, 0.02);
}

double truth_deg(std::uint64_t seed) {
  rig::Draw draw(seed);
  return rig::least_truth_deg(rig::random_rig(draw));
}

void shift(Step& step, bool right_into_left, Complex by) {
  LeakPair& pair = measurement_of(step).crosstalk_spectrum.front();
  shift_leak(right_into_left ? *pair.right_into_left : *pair.left_into_right, by);
}

std::vector<Observation> observations_with(const Session& session) { return observations_of(session, {}).fitted; }

}  // namespace

TEST_CASE("Crosstalk of one cartridge agrees, whatever tilts are logged") {
  for (std::uint64_t seed = 1; seed <= 200; ++seed) {
    Session session = five_steps(seed);
    session.steps[1].log.tilt_deg = 7;  // the log does not enter
    const LeakAgreement leaks = leak_agreement(observations_with(session), {});
    INFO("seed " << seed);
    CHECK(leaks.odd.empty());
    CHECK(leaks.p_value > 1e-4);
    CHECK(leaks.variance_factor == 1);
  }
}

TEST_CASE("A step with crosstalk of another source is named and excluded, and only its own information is lost") {
  for (std::uint64_t seed = 1; seed <= drawn(60U); ++seed) {
    const std::size_t odd = seed % 5;
    Session session = five_steps(seed), without = five_steps(seed);
    const std::string name = session.steps[odd].log.capture;
    // The shift is 40 standard uncertainties or more, at any phase, in one of the two directions.
    shift(session.steps[odd], seed % 2 == 0,
          std::polar(kLeak_u * std::pow(10.0, 1.6 + 0.05 * static_cast<double>(seed)), static_cast<double>(seed)));
    without.steps.erase(without.steps.begin() + static_cast<std::ptrdiff_t>(odd));
    const Solution s = solve(session, {});
    const Solution expected = solve(without, {});
    INFO("seed " << seed);
    CHECK(set_aside(s) == std::vector<std::string>{name});
    CHECK(says(s.warnings, WarningCode::kLeaksOff));
    CHECK(s.least_crosstalk.tilt_deg == expected.least_crosstalk.tilt_deg);
    CHECK(s.least_crosstalk.u_deg == expected.least_crosstalk.u_deg);
    CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(truth_deg(seed), 0.05));
  }
}

TEST_CASE("A step in mono is excluded, and one with swapped channels, reversed polarity or another gain is still fitted") {
  const Solution clean = solve(five_steps(12), {});
  for (const char* what : {"mono", "swapped", "turned", "gain"}) {
    Session session = five_steps(12);
    Step& step = session.steps[4];
    LeakPair& pair = measurement_of(step).crosstalk_spectrum.front();
    Complex& rl = pair.right_into_left->same_passage.value;
    Complex& lr = pair.left_into_right->same_passage.value;
    if (what == std::string("mono")) shift(step, true, 0.3), shift(step, false, 0.3);
    if (what == std::string("swapped")) swap_channels_of(step);
    if (what == std::string("turned")) recordings::reverse(step);
    if (what == std::string("gain")) rl *= 1.2, lr /= 1.2;
    INFO(what);
    const Solution s = solve(session, {});
    if (what == std::string("mono")) {
      CHECK(set_aside(s) == std::vector<std::string>{step.log.capture});
      continue;
    }
    CHECK(set_aside(s).empty());
    CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(clean.least_crosstalk.tilt_deg, clean.least_crosstalk.u_deg));
    CHECK(s.least_crosstalk.u_deg < 1.5 * clean.least_crosstalk.u_deg);
    const bool by_gain = says(s.warnings, WarningCode::kRecordingsDiffer);
    const bool by_wiring = says(s.warnings, WarningCode::kPolarityReversed) || says(s.warnings, WarningCode::kSwappedOrReversed);
    CHECK(by_gain == (what == std::string("gain")));
    CHECK(by_wiring == (what != std::string("gain")));
  }
}

TEST_CASE("At most a quarter of the steps can be excluded as contradictory") {
  std::vector<double> nine;
  for (int i = -4; i <= 4; ++i) nine.push_back(0.7 * i);
  Session session = five_steps(21, nine);
  shift(session.steps[2], true, {0.05, 0.02});
  shift(session.steps[6], false, {-0.01, 0.03});
  CHECK(set_aside(solve(session, {})).size() == 2);
  shift(session.steps[7], true, {0.02, -0.04});
  CHECK(leak_agreement(observations_with(session), {}).odd.empty());
}

TEST_CASE("Among forty steps the contradictory one is found, whatever the magnitude of its error") {
  std::vector<double> forty;
  for (int i = 0; i < 40; ++i) forty.push_back(-3 + 0.15 * i);
  for (const double size : {3e-3, 0.5, 1e6}) {
    Session session = five_steps(22, forty);
    shift(session.steps[23], true, {size, size});
    INFO(size);
    CHECK(leak_agreement(observations_with(session), {}).odd == std::vector<std::size_t>{23});
  }
}

TEST_CASE("If crosstalk scatters more than stated, the interval widens and steps are rarely excluded") {
  int blamed = 0, said = 0, held = 0;
  for (std::uint64_t seed = 1; seed <= 40; ++seed) {
    const Session quiet = five_steps(seed, kFour);
    Session noisy = quiet;
    rig::Draw draw(500 + seed);
    for (Step& step : noisy.steps) {
      for (const bool side : {false, true}) shift(step, side, 3 * kLeak_u * Complex(draw.normal(), draw.normal()));
    }
    const Solution s = solve(noisy, {});
    INFO("seed " << seed);
    blamed += set_aside(s).empty() ? 0 : 1;
    said += says(s.warnings, WarningCode::kStepsContradict) ? 1 : 0;
    if (set_aside(s).empty()) CHECK(s.least_crosstalk.u_deg > 0.95 * solve(quiet, {}).least_crosstalk.u_deg);
    held += s.least_crosstalk.interval95_deg[0] <= truth_deg(seed) && truth_deg(seed) <= s.least_crosstalk.interval95_deg[1] ? 1 : 0;
  }
  CHECK(blamed <= 8);  // about 25 if the first step without which the others agree were blamed
  CHECK(said >= 30);
  CHECK(held >= 36);
}

TEST_CASE("Three steps that cannot come from one cartridge are refused, and the message advises one more tilt") {
  Session session = five_steps(31, {-2, 0, 2});
  shift(session.steps[1], true, {0.1, 0.05});
  try {
    solve(session, {});
    FAIL("the session was solved");
  } catch (const Error& error) {
    CHECK(error.kind() == ErrorKind::kData);
    CHECK_THAT(error.what(), ContainsSubstring("one more tilt"));
  }
}

TEST_CASE("One good step or two good steps do not contradict each other") {
  CHECK(leak_agreement(observations_with(five_steps(41, {0.5})), {}).odd.empty());
  const LeakAgreement two = leak_agreement(observations_with(five_steps(42, {-1, 1})), {});
  CHECK(two.odd.empty());
  CHECK(two.variance_factor == 1);
}

TEST_CASE("Unequal cut levels and a phase shift between the channels cause no contradiction, however few steps there are") {
  const double kTurns_rad[] = {0.0, 1.9, 3.1, -2.6};
  for (std::uint64_t seed = 1; seed <= 80; ++seed) {
    for (const double cut_db : {0.0, 3.0, 6.0}) {
      rig::Draw draw(seed);
      rig::Rig r = rig::random_rig(draw);
      r.cut_ratio = std::pow(10.0, cut_db / 20);
      r.gain_left *= std::polar(1.0, kTurns_rad[seed % 4]);
      const auto tilts = seed % 3 == 0 ? std::vector<double>{-1, 1} : seed % 3 == 1 ? std::vector<double>{-2, 0, 2} : kFive;
      Session session = session_of(r, tilts, kLeak_u, draw, 0.02);
      if (seed % 5 == 0) {
        for (Step& step : session.steps) measurement_of(step).interchannel_phase_deg.reset(), measurement_of(step).passages.pop_back();
      }
      const LeakAgreement leaks = leak_agreement(observations_with(session), {0, 0.035, 0});
      INFO("seed " << seed << ", cut level difference " << cut_db << " dB, " << tilts.size() << " steps");
      CHECK(leaks.odd.empty());
      CHECK(leaks.variance_factor == 1);
    }
  }
}

TEST_CASE("Among many steps, one strongly contradictory step is excluded, and no good step is excluded with it") {
  for (const int steps : {17, 20, 30, 40}) {
    std::vector<double> tilts;
    for (int i = 0; i < steps; ++i) tilts.push_back(-3 + 6.0 * i / (steps - 1));
    for (std::uint64_t seed = 1; seed <= 24; ++seed) {
      Session session = five_steps(seed, tilts);
      const std::size_t odd = seed % 3 == 0 ? 0 : seed % 3 == 1 ? tilts.size() - 1 : tilts.size() / 2;
      Step& step = session.steps[odd];
      // The crosstalk of another passage: it is shifted both ways by as much as two degrees would.
      shift(step, true, {seed % 2 == 0 ? 0.035 : -0.035, 0.01});
      shift(step, false, {0.035, 0.02});
      INFO(steps << " steps, seed " << seed);
      CHECK(leak_agreement(observations_with(session), {}).odd == std::vector<std::size_t>{odd});
    }
  }
}

TEST_CASE("Two steps that cannot come from one cartridge are refused, and the message advises two more tilts") {
  Session session = five_steps(51, {-1, 1});
  shift(session.steps[1], true, {0.03, 0.03});
  try {
    solve(session, {});
    FAIL("the session was solved");
  } catch (const Error& error) {
    CHECK_THAT(error.what(), ContainsSubstring("two more tilts"));
  }
}
