// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/tone_shift.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace evenwall::internal::base {

std::string_view cause_of_shift(double factor) {
  struct Cause {
    double factor;
    std::string_view text;
  };
  constexpr double kMatch = 0.03;  // speed errors of two playings of one tone stay inside this share
  constexpr double kTurn = 45.0 / (100.0 / 3.0);
  constexpr double kStudio = 48000.0 / 44100.0;
  static constexpr std::array<Cause, 6> kCauses{{{2.0, "the sample rate in the header is twice the true one"},
                                                 {0.5, "the sample rate in the header is half the true one"},
                                                 {kStudio, "the header states 48 kHz for audio recorded at 44.1 kHz, or similar rates"},
                                                 {1 / kStudio, "the header states 44.1 kHz for audio recorded at 48 kHz, or similar rates"},
                                                 {kTurn, "a 33 1/3 rpm record was played at 45 rpm"},
                                                 {1 / kTurn, "a 45 rpm record was played at 33 1/3 rpm"}}};
  const auto fits = [&](const Cause& c) { return std::abs(factor / c.factor - 1) <= kMatch; };
  const auto cause = std::find_if(kCauses.begin(), kCauses.end(), fits);
  return cause == kCauses.end() ? std::string_view() : cause->text;
}

}  // namespace evenwall::internal::base
