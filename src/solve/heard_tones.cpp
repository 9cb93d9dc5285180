// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/heard_tones.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <vector>

#include "base/tone_shift.hpp"

namespace evenwall::internal::solve {
namespace {

constexpr double kSameHeard = 0.03;     // of the frequency; passages of one tone at slightly different speeds
constexpr std::size_t kMostListed = 6;  // more do not help

/// Frequencies of the one-channel tones, ascending, each once.
std::vector<double> tones_of(const Measurement& measured) {
  std::vector<double> tones;
  for (const Passage& p : measured.passages) {
    if (p.driven != Driven::kBoth && p.frequency_hz) tones.push_back(*p.frequency_hz);
  }
  std::sort(tones.begin(), tones.end());
  tones.erase(std::unique(tones.begin(), tones.end(), [](double a, double b) { return b - a <= kSameHeard * a; }), tones.end());
  return tones;
}

}  // namespace

std::string missing_pair(const Measurement& measured, double frequency_hz) {
  std::string heard, cause;
  const std::vector<double> tones = tones_of(measured);
  const bool has_the_tone =
      std::any_of(tones.begin(), tones.end(), [&](double hz) { return std::abs(hz / frequency_hz - 1) <= kSameHeard; });
  for (std::size_t i = 0; i < tones.size() && !has_the_tone; ++i) {
    if (i < kMostListed) heard += fmt::format("{}{:.1f} Hz", heard.empty() ? "" : ", ", tones[i]);
    const std::string_view shift = base::cause_of_shift(tones[i] / frequency_hz);
    if (cause.empty() && !shift.empty()) cause = fmt::format(" {:.1f} Hz matches if {}.", tones[i], shift);
  }
  if (!heard.empty()) heard = fmt::format("; it has {}{}", heard, tones.size() > kMostListed ? " and more" : "");
  return fmt::format("it has no pair of left-only and right-only passages at {:.1f} Hz{}.{} Capture both bands{}.", frequency_hz, heard,
                     cause, cause.empty() ? "" : " again");
}

}  // namespace evenwall::internal::solve
