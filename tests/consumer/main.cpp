// SPDX-License-Identifier: GPL-3.0-or-later
// Uses every module of the library once, so that the linker must find everything that the library needs.
#include <evenwall/error.hpp>
#include <evenwall/files.hpp>
#include <evenwall/measure.hpp>
#include <evenwall/report.hpp>
#include <evenwall/simulate.hpp>
#include <evenwall/solve.hpp>
#include <evenwall/survey.hpp>
#include <iostream>

int main() try {
  const evenwall::SimulatedSession simulated(evenwall::random_scenario(11, 2.0), 11);
  evenwall::Session session;
  session.facts.gauge_u_deg = 0.02;
  for (std::size_t i = 0; i < simulated.size(); ++i) {
    evenwall::LogEntry log;
    log.capture = "step " + std::to_string(i);
    log.tilt_deg = simulated.truth().steps[i].logged_deg;
    session.steps.push_back({log, evenwall::measure(*simulated.capture(i), {})});
  }
  const evenwall::Solution solution = evenwall::solve(session, {});
  // The solution is written to its document and read back, so that the JSON reader and writer are linked, too.
  const std::string document = evenwall::to_json(solution);
  const evenwall::Solution read_back = evenwall::solution_from_json(document, "solution");
  evenwall::ArchivedSolution one{
      .name = "one", .cartridge = "one", .record = "side", .least_crosstalk_deg = solution.least_crosstalk.tilt_deg};
  evenwall::ArchivedSolution two = one;
  two.name = two.cartridge.emplace("two");
  two.least_crosstalk_deg += 0.5;
  const evenwall::Survey survey = evenwall::survey({one, two}, {});
  std::cout << "solved " << read_back.least_crosstalk.tilt_deg << "\ntruth " << simulated.truth().least_crosstalk_deg << "\nsurveyed "
            << survey.cartridges.size() << "\nlines " << evenwall::solution_text(solution, false).size() << '\n';
  try {
    evenwall::open_capture("no such capture.wav");
  } catch (const evenwall::Error& error) {
    std::cout << "refused " << error.what() << '\n';
  }
} catch (const std::exception& error) {
  std::cerr << error.what() << '\n';
  return 1;
}
