// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/long_passages.hpp"

#include <algorithm>
#include <cassert>
#include <cmath>
#include <tuple>

#include "measure/combine.hpp"
#include "measure/method_constants.hpp"
#include "measure/sample_step.hpp"
#include "numeric/counts.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

/// Mean of a number over all parts.
template <typename Part, typename Number>
double mean_of(const std::vector<Part>& parts, Number number) {
  double sum = 0;
  for (const Part& part : parts) sum += number(part);
  return sum / static_cast<double>(parts.size());
}

/// Median over the parts that have the number.
template <typename Number>
OptionalNumber median_of(const std::vector<HeardPassage>& parts, Number number) {
  std::vector<double> known;
  for (const HeardPassage& part : parts) {
    if (const OptionalNumber value = number(part)) known.push_back(*value);
  }
  return known.empty() ? std::nullopt : OptionalNumber(numeric::median(std::move(known)));
}

/// Mean level and its standard uncertainty: from the parts' own uncertainties, or from their scatter if that is larger.
template <typename Part, typename Level>
std::pair<double, double> mean_level(const std::vector<Part>& parts, Level level) {
  const auto n = static_cast<double>(parts.size());
  const double mean = mean_of(parts, [&](const Part& p) { return level(p).first; });
  const double own = mean_of(parts, [&](const Part& p) { return std::pow(level(p).second, 2); });
  const double scatter = mean_of(parts, [&](const Part& p) { return std::pow(level(p).first - mean, 2); }) * n / std::max(1.0, n - 1);
  return {mean, std::sqrt(std::max(own, scatter) / n)};
}

/// The first part's modulation, scaled to the root mean square over all parts. Phases are not averaged, because the record's angle is not
/// known well enough over an hour.
std::array<Complex, 2> mean_modulation(const std::vector<HeardPassage>& parts) {
  const auto square = [](const HeardPassage& p) { return std::norm(p.once_per_revolution[0]) + std::norm(p.once_per_revolution[1]); };
  const double first = square(parts.front());
  if (!(first > 0)) return {Complex(std::sqrt(mean_of(parts, square)), 0), Complex(0, 0)};
  const double factor = std::sqrt(mean_of(parts, square) / first);
  return {factor * parts.front().once_per_revolution[0], factor * parts.front().once_per_revolution[1]};
}

void join_faults(HeardPassage& whole, const std::vector<HeardPassage>& parts) {
  whole.clipped_fraction = mean_of(parts, [](const HeardPassage& p) { return p.clipped_fraction; });
  whole.not_finite_fraction = mean_of(parts, [](const HeardPassage& p) { return p.not_finite_fraction; });
  whole.lost_fraction = mean_of(parts, [](const HeardPassage& p) { return p.lost_fraction; });
  whole.rejected_fraction = mean_of(parts, [](const HeardPassage& p) { return p.rejected_fraction; });
  for (const HeardPassage& p : parts) {
    if (std::abs(p.dc) > std::abs(whole.dc)) whole.dc = p.dc;
    const double larger_db = whole.level_step ? std::abs(whole.level_step->change_db) : 0;
    if (p.level_step && std::abs(p.level_step->change_db) > larger_db) whole.level_step = p.level_step;
    if (p.quiet_steps) whole.quiet_steps = std::min(*p.quiet_steps, whole.quiet_steps.value_or(*p.quiet_steps));
    whole.u_rounding = std::max(whole.u_rounding, p.u_rounding);
  }
}

/// Lists the interruptions of all parts. Parts overlap, so an interruption that two of them contain is listed once.
void join_interruptions(HeardPassage& whole, const std::vector<HeardPassage>& parts) {
  for (const HeardPassage& p : parts) {
    if (!whole.delay_jump_s) whole.delay_jump_s = p.delay_jump_s;
    for (const Interval& gap : p.silences) {
      const bool seen = !whole.silences.empty() && gap[0] <= whole.silences.back()[0];
      if (!seen && whole.silences.size() < kMostNotedJumps) whole.silences.push_back(gap);
    }
    for (const PhaseJump& jump : p.phase_jumps) {
      const bool seen = !whole.phase_jumps.empty() && jump.at_s <= whole.phase_jumps.back().at_s + kOneJump_s;
      if (!seen && whole.phase_jumps.size() < kMostNotedJumps) whole.phase_jumps.push_back(jump);
    }
  }
}

/// Combines the values that the document lists for a passage, except for the relation.
void join_listing(Passage& whole, const std::vector<HeardPassage>& parts) {
  whole.end_s = parts.back().passage.end_s;
  const auto mean_or_none = [&](OptionalNumber Passage::*number) {
    const auto lacks = [&](const HeardPassage& p) { return !(p.passage.*number); };
    if (std::any_of(parts.begin(), parts.end(), lacks)) return OptionalNumber();
    return OptionalNumber(mean_of(parts, [&](const HeardPassage& p) { return *(p.passage.*number); }));
  };
  if (whole.kind == PassageKind::kTone) whole.frequency_hz = mean_or_none(&Passage::frequency_hz);
  whole.wow_percent = mean_or_none(&Passage::wow_percent);
  whole.distortion_percent = mean_or_none(&Passage::distortion_percent);
  whole.third_harmonic_percent = mean_or_none(&Passage::third_harmonic_percent);
  whole.snr_db = mean_of(parts, [](const HeardPassage& p) { return p.passage.snr_db; });
  whole.level_left_dbfs = mean_of(parts, [](const HeardPassage& p) { return p.passage.level_left_dbfs; });
  whole.level_right_dbfs = mean_of(parts, [](const HeardPassage& p) { return p.passage.level_right_dbfs; });
}

/// Combines everything except for the ratio and ln_level.
HeardPassage joined_facts(const std::vector<HeardPassage>& parts) {
  HeardPassage whole;
  whole.passage = parts.front().passage;
  join_listing(whole.passage, parts);
  whole.once_per_revolution = mean_modulation(parts);
  whole.whole_revolution = std::all_of(parts.begin(), parts.end(), [](const HeardPassage& p) { return p.whole_revolution; });
  whole.band_db = median_of(parts, [](const HeardPassage& p) { return p.band_db; });
  whole.pitch_wander_percent = median_of(parts, [](const HeardPassage& p) { return p.pitch_wander_percent; });
  whole.level_wander_db = median_of(parts, [](const HeardPassage& p) { return p.level_wander_db; });
  join_faults(whole, parts);
  join_interruptions(whole, parts);
  return whole;
}

/// One band's values in all parts; empty if a part lacks it.
std::vector<BandRatio> band_in_all(const std::vector<HeardBands>& parts, double frequency_hz) {
  std::vector<BandRatio> found;
  for (const HeardBands& part : parts) {
    const auto same = [&](const BandRatio& b) { return b.frequency_hz == frequency_hz; };
    const auto band = std::find_if(part.bands.begin(), part.bands.end(), same);
    if (band == part.bands.end()) return {};
    found.push_back(*band);
  }
  return found;
}

ComplexEstimate mean_ratio(const std::vector<BandRatio>& bands) {
  std::vector<ComplexEstimate> ratios;
  for (const BandRatio& b : bands) ratios.push_back(b.ratio);
  return weighted_mean(ratios);
}

}  // namespace

std::vector<Interval> parts_of(double start_s, double end_s) {
  assert(start_s <= end_s);
  const std::size_t count = numeric::at_least_one(std::ceil((end_s - start_s) / kLongestAtOnce_s));
  if (count == 1) return {{start_s, end_s}};
  const double length_s = (end_s - start_s) / static_cast<double>(count);
  std::vector<Interval> parts;
  for (std::size_t p = 0; p < count; ++p) {
    const double from_s = start_s + static_cast<double>(p) * length_s;
    parts.push_back({std::max(start_s, from_s - kPartOverlap_s), std::min(end_s, from_s + length_s + kPartOverlap_s)});
  }
  return parts;
}

HeardPassage joined(std::vector<HeardPassage> parts) {
  assert(!parts.empty());
  if (parts.size() == 1) return std::move(parts.front());
  HeardPassage whole = joined_facts(parts);
  std::vector<ComplexEstimate> ratios;
  for (const HeardPassage& p : parts) ratios.push_back(p.ratio);
  whole.ratio = weighted_mean(ratios);
  if (whole.u_rounding > 0) enlarge(whole.ratio, whole.u_rounding);
  std::tie(whole.ln_level, whole.u_ln_level) = mean_level(parts, [](const HeardPassage& p) { return std::pair(p.ln_level, p.u_ln_level); });
  if (whole.passage.relation) whole.passage.relation = whole.ratio.value.real() >= 0 ? Relation::kInPhase : Relation::kAntiphase;
  return whole;
}

HeardBands joined(std::vector<HeardBands> parts) {
  assert(!parts.empty());
  if (parts.size() == 1) return std::move(parts.front());
  std::vector<HeardPassage> overall;
  for (const HeardBands& p : parts) overall.push_back(p.overall);
  HeardBands whole;
  whole.overall = joined_facts(overall);
  for (const BandRatio& first : parts.front().bands) {
    const std::vector<BandRatio> bands = band_in_all(parts, first.frequency_hz);
    if (bands.empty()) continue;
    BandRatio band = first;
    band.ratio = mean_ratio(bands);
    std::tie(band.ln_level, band.u_ln_level) = mean_level(bands, [](const BandRatio& b) { return std::pair(b.ln_level, b.u_ln_level); });
    whole.bands.push_back(band);
  }
  return whole;
}

}  // namespace evenwall::internal::measure
