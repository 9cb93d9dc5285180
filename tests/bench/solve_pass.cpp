// SPDX-License-Identifier: GPL-3.0-or-later
// Solves one session of STEPS steps and does nothing else, so that instructions.py can count its instructions. With FREQUENCIES, each step
// has crosstalk at so many third octaves. Writes the azimuth of least crosstalk, and the time of the solution on standard error. usage:
// solve_pass STEPS stated|unstated right|wrong [FREQUENCIES]
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <string_view>

#include "evenwall/solve.hpp"
#include "support/band_rigs.hpp"
#include "support/solve_session.hpp"

int main(int argc, char** argv) {
  if (argc != 4 && argc != 5) return 2;
  const int steps = std::atoi(argv[1]);
  const auto gauge_u_deg = std::string_view(argv[2]) == "stated" ? evenwall::OptionalNumber(0.05) : std::nullopt;
  const bool is_wrong = std::string_view(argv[3]) == "wrong";
  const evenwall::Session session =
      argc == 5 ? band_rigs::long_session(steps, std::atoi(argv[4]), gauge_u_deg) : long_session(steps, gauge_u_deg, is_wrong);
  const auto start = std::chrono::steady_clock::now();
  std::printf("%.6f\n", evenwall::solve(session, {}).least_crosstalk.tilt_deg);
  std::fprintf(stderr, "%.3f s\n", std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
}
