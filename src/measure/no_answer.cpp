// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/no_answer.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "evenwall/error.hpp"
#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {
namespace {

/// Likely cause if a tone's frequency is wrong by this factor. Empty if no known cause fits.
std::string likely_cause(double factor) {
  struct Cause {
    double factor;
    const char* text;
  };
  constexpr double kTurn = 45.0 / kNominalRpm;
  constexpr double kStudio = 48000.0 / 44100.0;
  static constexpr std::array<Cause, 6> kCauses{{{2.0, "the sample rate in the header is twice the true one"},
                                                 {0.5, "the sample rate in the header is half the true one"},
                                                 {kStudio, "the header states 48 kHz for audio recorded at 44.1 kHz, or similar rates"},
                                                 {1 / kStudio, "the header states 44.1 kHz for audio recorded at 48 kHz, or similar rates"},
                                                 {kTurn, "a 33 1/3 rpm record was played at 45 rpm"},
                                                 {1 / kTurn, "a 45 rpm record was played at 33 1/3 rpm"}}};
  const auto fits = [&](const Cause& c) { return std::abs(factor / c.factor - 1) <= kSameTone; };
  const auto cause = std::find_if(kCauses.begin(), kCauses.end(), fits);
  return cause == kCauses.end() ? "" : cause->text;
}

}  // namespace

void no_answer(const std::string& found, const std::string& remedy) {
  throw Error(ErrorKind::kData, found + ". The recording is not measured. " + remedy + ".");
}

void refuse_frequency(const std::vector<AtFrequency>& all, double asked_hz) {
  std::string found, hint;
  for (const AtFrequency& a : all) {
    found += fmt::format("{}{:.1f} Hz", found.empty() ? "" : ", ", a.frequency_hz);
    const std::string cause = likely_cause(a.frequency_hz / asked_hz);
    if (!cause.empty()) hint = fmt::format(". {:.1f} Hz matches if {}", a.frequency_hz, cause);
  }
  no_answer(fmt::format("no tone of one channel lies within 5 % of {:.1f} Hz; the recording has {}", asked_hz, found),
            "State a frequency that it has, or check the sample rate" + hint);
}

}  // namespace evenwall::internal::measure
