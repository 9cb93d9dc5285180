// SPDX-License-Identifier: GPL-3.0-or-later
// Solves one session of STEPS steps and does nothing else, so that instructions.py can count its instructions.
// usage: solve_pass STEPS stated|unstated right|wrong
#include <cstdio>
#include <cstdlib>
#include <string_view>

#include "evenwall/solve.hpp"
#include "support/solve_session.hpp"

int main(int argc, char** argv) {
  if (argc != 4) return 2;
  const bool is_stated = std::string_view(argv[2]) == "stated", is_wrong = std::string_view(argv[3]) == "wrong";
  const evenwall::Session session = long_session(std::atoi(argv[1]), is_stated ? evenwall::OptionalNumber(0.05) : std::nullopt, is_wrong);
  std::printf("%.6f\n", evenwall::solve(session, {}).least_crosstalk.tilt_deg);
}
