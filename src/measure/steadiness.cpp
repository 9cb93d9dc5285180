#include "measure/steadiness.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "numeric/robust_regression.hpp"

namespace evenwall {
namespace {

constexpr double kLag_s = 0.25;
constexpr double kLevelWindow_s = 0.75;
constexpr std::size_t kLeastPairs = 12;
// Held notes of Debian's music samples change by 0.9 dB and more, test tones in noise, crackle and wow by 0.35 dB at most
// (tests/reference).
constexpr double kMostWander_db = 0.65;
// A worn groove has a tenth; a square wave a third, a sawtooth half.
constexpr double kMostDistortion_percent = 25.0;

/// What a periodic Hann window leaves of a tone that lies `bins` off its middle.
double hann_response(double bins) {
  const double x = std::abs(bins);
  if (x < 1e-6) return 1.0;
  if (std::abs(x - 1.0) < 1e-6) return 0.5;
  return std::sin(std::numbers::pi * x) / (std::numbers::pi * x * (1.0 - x * x));
}

/// ln of each frame's amplitude, detuning made good.
std::vector<double> true_levels(const std::vector<Complex>& amplitude) {
  std::vector<double> levels;
  const std::size_t n = amplitude.size();
  for (std::size_t f = 0; f < n; ++f) {
    const std::size_t before = f >= 2 ? f - 2 : 0;
    const std::size_t after = std::min(f + 2, n - 1);
    Complex turn = 0;
    for (std::size_t g = before; g < after; ++g) turn += amplitude[g + 1] * std::conj(amplitude[g]);
    // A turn of 2π for each frame of four hops is one bin.
    const double bins = std::arg(turn) * 4.0 / (2.0 * std::numbers::pi);
    levels.push_back(std::log(std::max(std::abs(amplitude[f]), 1e-12) / std::max(0.25, hann_response(std::min(std::abs(bins), 1.2)))));
  }
  return levels;
}

}  // namespace

OptionalNumber level_wander_db(const std::vector<double>& middle_s, const std::vector<Complex>& amplitude, double hop_s) {
  const std::vector<double> levels = true_levels(amplitude);
  std::vector<double> changes;
  std::size_t later = 0;
  for (std::size_t f = 0; f < levels.size(); ++f) {
    while (later < levels.size() && middle_s[later] < middle_s[f] + kLag_s - 0.5 * hop_s) ++later;
    if (later < levels.size() && middle_s[later] < middle_s[f] + kLag_s + 0.5 * hop_s) {
      changes.push_back(std::abs(levels[later] - levels[f]) * kDbPerNeper);
    }
  }
  if (changes.size() < kLeastPairs) return std::nullopt;
  return median(std::move(changes));
}

std::vector<double> local_levels(const std::vector<double>& sizes, double hop_s) {
  const auto half = static_cast<std::ptrdiff_t>(std::lround(0.5 * kLevelWindow_s / hop_s));
  const auto n = static_cast<std::ptrdiff_t>(sizes.size());
  std::vector<double> levels;
  for (std::ptrdiff_t f = 0; f < n; ++f) {
    levels.push_back(median({sizes.begin() + std::max<std::ptrdiff_t>(0, f - half), sizes.begin() + std::min(n, f + half + 1)}));
  }
  return levels;
}

std::string why_no_test_tone(const HeardPassage& heard) {
  if (!heard.level_wander_db) return "broken into pieces; a test tone holds its level";
  if (*heard.level_wander_db > kMostWander_db) {
    return fmt::format("its level changes by {:.1f} dB every quarter of a second, as music does; a test tone holds its level",
                       *heard.level_wander_db);
  }
  if (heard.passage.distortion_percent.value_or(0) > kMostDistortion_percent) {
    return fmt::format("harmonics of {:.0f} %: a square wave or an instrument, no test tone", *heard.passage.distortion_percent);
  }
  if (heard.hum.is_the_tone)
    return fmt::format("mains hum of {:.0f} Hz: it goes on outside this stretch, or the capture holds nothing else", heard.hum.mains_hz);
  return "";
}

}  // namespace evenwall
