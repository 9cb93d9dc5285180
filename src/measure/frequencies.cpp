// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/frequencies.hpp"

#include <algorithm>
#include <cmath>

namespace evenwall::internal::measure {
namespace {

bool same_frequency(double a_hz, double b_hz) { return std::abs(a_hz - b_hz) <= kSameTone * b_hz; }

/// Centres of all measured bands, in ascending order and without repeats.
std::vector<double> centres_of(const std::vector<HeardBands>& heard) {
  std::vector<double> centres;
  for (const HeardBands& h : heard) {
    for (const BandRatio& b : h.bands) centres.push_back(b.frequency_hz);
  }
  std::sort(centres.begin(), centres.end());
  centres.erase(std::unique(centres.begin(), centres.end(), [](double a, double b) { return same_frequency(a, b); }), centres.end());
  return centres;
}

/// Weighted mean of the sweep and noise passages that drive one channel (or both) at one frequency. If level_of is given, only passages of
/// that kind contribute to the level. Empty if no passage covers the frequency, or none of that kind.
std::optional<CombinedPassages> combine_bands(const std::vector<HeardBands>& heard, Driven driven, double frequency_hz,
                                              std::optional<PassageKind> level_of) {
  std::vector<ComplexEstimate> ratios;
  CombinedPassages result;
  double u2 = 0;
  double levels = 0;
  const auto in_phase = [&](const HeardBands& h) {
    return h.overall.passage.driven == Driven::kBoth && h.overall.passage.relation == Relation::kInPhase &&
           at_frequency(h.bands, frequency_hz);
  };
  const Relation used = used_relation(std::any_of(heard.begin(), heard.end(), in_phase));
  for (const HeardBands& h : heard) {
    if (h.overall.passage.driven != driven || (driven == Driven::kBoth && h.overall.passage.relation != used)) continue;
    const auto band = at_frequency(h.bands, frequency_hz);
    if (!band) continue;
    ratios.push_back(band->ratio);
    const auto& [cosine, sine] = h.overall.once_per_revolution;
    result.warp_mean_square += 0.5 * (cosine.real() * cosine.real() + sine.real() * sine.real());
    if (band->band_db) result.band_db = band->band_db;
    if (level_of && h.overall.passage.kind != *level_of) continue;
    result.ln_level += band->ln_level;
    u2 += band->u_ln_level * band->u_ln_level;
    levels += 1;
  }
  if (ratios.empty() || levels == 0) return std::nullopt;
  result.ratio = weighted_mean(ratios);
  result.ln_level /= levels;
  result.u_ln_level = std::sqrt(u2) / levels;
  result.warp_mean_square /= static_cast<double>(ratios.size());
  result.passages = static_cast<int>(ratios.size());
  return result;
}

}  // namespace

std::optional<AtFrequency> band_place(const std::vector<HeardBands>& bands, double frequency_hz) {
  const auto side = [&](Driven driven, std::optional<PassageKind> kind) { return combine_bands(bands, driven, frequency_hz, kind); };
  // The levels of sweeps and of noise are unrelated, so those of both channels must come from passages of one kind.
  std::optional<PassageKind> kind;
  for (const PassageKind k : {PassageKind::kNoise, PassageKind::kSweep}) {
    if (side(Driven::kLeft, k) && side(Driven::kRight, k)) kind = k;
  }
  AtFrequency at{frequency_hz, false, side(Driven::kLeft, kind), side(Driven::kRight, kind), side(Driven::kBoth, std::nullopt)};
  return at.left || at.right ? std::optional(at) : std::nullopt;
}

std::vector<AtFrequency> heard_frequencies(const std::vector<HeardPassage>& tones, const std::vector<HeardBands>& bands) {
  std::vector<AtFrequency> result;
  for (const double hz : tone_frequencies(tones)) {
    result.push_back({hz, true, combine(tones, Driven::kLeft, hz), combine(tones, Driven::kRight, hz), combine(tones, Driven::kBoth, hz)});
  }
  const std::size_t tone_count = result.size();
  for (const double centre : centres_of(bands)) {
    const auto tone_there = [&](const AtFrequency& a) { return (a.left || a.right) && same_frequency(a.frequency_hz, centre); };
    if (std::any_of(result.begin(), result.begin() + static_cast<std::ptrdiff_t>(tone_count), tone_there)) continue;
    if (auto place = band_place(bands, centre)) result.push_back(*place);
  }
  std::stable_sort(result.begin(), result.end(),
                   [](const AtFrequency& a, const AtFrequency& b) { return a.frequency_hz < b.frequency_hz; });
  return result;
}

}  // namespace evenwall::internal::measure
