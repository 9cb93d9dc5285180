// SPDX-License-Identifier: GPL-3.0-or-later
// Solves a session from measured numbers, without audio. The numbers may come from any instrument.
#include <complex>
#include <iostream>
#include <string>

#include "evenwall/error.hpp"
#include "evenwall/solve.hpp"

namespace {

/// The readings of an instrument at one tilt, the azimuth angle of the cartridge seen from the front. Each ratio is that of the undriven to
/// the driven channel in the same passage.
struct Row {
  double tilt_deg;
  std::complex<double> left_over_right;  // of the right-only band: crosstalk from right into left
  std::complex<double> right_over_left;  // of the left-only band: crosstalk from left into right
};

// The left coil of this cartridge has an angle error of −1.5°, the right coil one of −0.9°. There is also a small inductive coupling.
const Row kRows[] = {
    {-2.0, {-0.06113, 0.00399}, {0.05069, 0.00299}}, {-1.0, {-0.04364, 0.00399}, {0.03319, 0.00300}},
    {0.0, {-0.02618, 0.00400}, {0.01571, 0.00300}},  {1.0, {-0.00873, 0.00400}, {-0.00175, 0.00300}},
    {2.0, {0.00873, 0.00400}, {-0.01920, 0.00300}},
};
constexpr double kFrequency_hz = 1000;
constexpr double kRatio_u = 2e-4;  // standard uncertainty of each part of a ratio

evenwall::Leak leak(std::complex<double> ratio) {
  evenwall::Leak leak;
  leak.same_passage = {ratio, kRatio_u, kRatio_u, 0};
  return leak;
}

}  // namespace

int main() try {
  evenwall::Session session;
  session.facts.gauge_u_deg = 0.02;
  for (const Row& row : kRows) {
    evenwall::LogEntry log;
    log.capture = "tilt " + std::to_string(row.tilt_deg);
    log.tilt_deg = row.tilt_deg;
    evenwall::Measurement measured;
    measured.balance_db = 0.0;  // both channels have the same level; equal crosstalk depends on the balance
    measured.u_balance_db = 0.01;
    measured.crosstalk = {kFrequency_hz, leak(row.left_over_right), leak(row.right_over_left)};
    measured.crosstalk_spectrum = {measured.crosstalk};
    session.steps.push_back({log, measured});
  }

  const evenwall::Solution solution = evenwall::solve(session, {});
  const auto& least = solution.least_crosstalk;
  std::cout << "least crosstalk: " << least.tilt_deg << " degrees, standard uncertainty " << least.u_deg << ", 95 % from "
            << least.interval95_deg[0] << " to " << least.interval95_deg[1] << '\n';
  if (solution.equal_crosstalk.determined) std::cout << "equal crosstalk: " << *solution.equal_crosstalk.tilt_deg << " degrees\n";
  std::cout << "crosstalk there: " << least.right_into_left_db << " dB and " << least.left_into_right_db << " dB\n";
} catch (const evenwall::Error& error) {
  std::cerr << error.what() << '\n';
  return 1;
}
