// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/steadiness.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "measure/method_constants.hpp"
#include "numeric/counts.hpp"
#include "numeric/fft.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

/// Whether a frame's level is usable, if a detuning of at most most_bins is allowed.
bool counts(const TrueLevels& levels, std::size_t f, double most_bins) {
  return levels.bins[f] <= most_bins && std::isfinite(levels.ln_level[f]);
}

/// Magnitudes of the changes of level, dB, of all pairs of frames a quarter of a second apart.
std::vector<double> changes_over(const TrueLevels& levels, double hop_s, double most_bins) {
  const std::vector<double>& middle_s = levels.middle_s;
  std::vector<double> changes;
  std::size_t later = 0;
  for (std::size_t f = 0; f < middle_s.size(); ++f) {
    while (later < middle_s.size() && middle_s[later] < middle_s[f] + kWanderLag_s - 0.5 * hop_s) ++later;
    if (later == middle_s.size()) break;
    if (middle_s[later] < middle_s[f] + kWanderLag_s + 0.5 * hop_s && counts(levels, f, most_bins) && counts(levels, later, most_bins)) {
      changes.push_back(std::abs(levels.ln_level[later] - levels.ln_level[f]) * kDbPerNeper);
    }
  }
  return changes;
}

}  // namespace

TrueLevels true_levels(const std::vector<double>& middle_s, const std::vector<Complex>& amplitude) {
  const std::size_t n = amplitude.size();
  TrueLevels levels{middle_s, std::vector<double>(n), std::vector<double>(n)};
  std::vector<Complex> turns;
  for (std::size_t f = 0; f + 1 < n; ++f) turns.push_back(amplitude[f + 1] * std::conj(amplitude[f]));
  for (std::size_t f = 0; f < n; ++f) {
    const std::size_t before = f >= kSpeedFrames ? f - kSpeedFrames : 0;
    const std::size_t after = std::min(f + kSpeedFrames, n - 1);
    Complex turn = 0;
    for (std::size_t g = before; g < after; ++g) turn += turns[g];
    // A phase gain of 2π per frame of four hops is one bin.
    levels.bins[f] = std::abs(std::arg(turn)) * 4.0 / (2.0 * std::numbers::pi);
    levels.ln_level[f] = 0.5 * std::log(std::norm(amplitude[f])) - std::log(numeric::hann_response(levels.bins[f]));
  }
  return levels;
}

OptionalNumber level_wander_db(const TrueLevels& levels, double hop_s) {
  for (const double most_bins : {kInTune_bins, kAnyTune_bins}) {
    std::vector<double> changes = changes_over(levels, hop_s, most_bins);
    if (changes.size() >= kWanderLeastPairs) return numeric::median(std::move(changes));
  }
  return std::nullopt;
}

std::optional<LevelStep> level_step(const TrueLevels& levels) {
  std::vector<double> at_s, level;
  for (std::size_t f = 0; f < levels.ln_level.size(); ++f) {
    if (counts(levels, f, kAnyTune_bins)) at_s.push_back(levels.middle_s[f]), level.push_back(levels.ln_level[f]);
  }
  if (level.empty()) return std::nullopt;
  const auto [least, most] = std::minmax_element(level.begin(), level.end());
  if ((*most - *least) * kDbPerNeper < kLevelStep_db) return std::nullopt;
  // The medians find a step anywhere in their middle halves, so not every frame has to be tried.
  const std::size_t stride = numeric::stride_for(level.size(), kLevelStepTries);
  const auto from = [&](double time_s) { return level.begin() + (std::lower_bound(at_s.begin(), at_s.end(), time_s) - at_s.begin()); };
  LevelStep largest;
  for (std::size_t f = 0; f < level.size(); f += stride) {
    if (at_s[f] - at_s.front() < kBesideStep_s || at_s.back() - at_s[f] < kBesideStep_s) continue;
    const auto here = level.begin() + static_cast<std::ptrdiff_t>(f);
    const std::vector<double> before(from(at_s[f] - kBesideStep_s), here);
    const std::vector<double> after(here, from(at_s[f] + kBesideStep_s));
    if (before.size() < kWanderLeastPairs || after.size() < kWanderLeastPairs) continue;
    const double low = numeric::median(before), high = numeric::median(after);
    if (std::abs(high - low) * kDbPerNeper <= std::abs(largest.change_db)) continue;
    // The step may lie anywhere in the middle halves of both medians. The number of frames nearer to the first level gives its position.
    const auto nearer = [&](double x) { return std::abs(x - low) < std::abs(x - high); };
    const auto first = here - static_cast<std::ptrdiff_t>(before.size());
    const auto passed = (first - level.begin()) + std::count_if(first, here + static_cast<std::ptrdiff_t>(after.size()), nearer);
    largest = {at_s[std::min(at_s.size() - 1, static_cast<std::size_t>(passed))], (high - low) * kDbPerNeper};
  }
  return std::abs(largest.change_db) >= kLevelStep_db ? std::optional(largest) : std::nullopt;
}

std::string why_no_test_tone(const HeardPassage& heard) {
  if (!heard.level_wander_db) return "it is broken into pieces; a test tone holds its level";
  if (*heard.level_wander_db > kToneMostWander_db) {
    return fmt::format("its level changes by {:.1f} dB every quarter of a second, as music does; a test tone holds its level",
                       *heard.level_wander_db);
  }
  if (heard.passage.distortion_percent.value_or(0) > kMostDistortion_percent) {
    return fmt::format("its harmonics reach {:.0f} %, as those of a square wave or an instrument do; a test tone has less",
                       *heard.passage.distortion_percent);
  }
  if (heard.hum.is_the_tone) {
    return fmt::format("it is mains hum of {:.0f} Hz: it continues outside this stretch, or the recording holds nothing else",
                       heard.hum.mains_hz);
  }
  return "";
}

}  // namespace evenwall::internal::measure
