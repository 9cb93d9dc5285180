// SPDX-License-Identifier: GPL-3.0-or-later
// A setting is played from its first band to its last one. When a band recurs, the next setting has begun:
//
//   left right lateral | left right lateral | left right
//
#include "measure/settings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "evenwall/measure.hpp"
#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {
namespace {

constexpr double kSettingPause_s = 5.0;      // a hand that turns a screw takes longer; a dropout is shorter
constexpr double kSettingsDiffer_u = 5.5;    // of the combined standard uncertainty
constexpr double kSettingsApart_deg = 0.03;  // repeated lowerings at one setting scatter less
constexpr std::size_t kMostCompared = 200;   // passages; each is compared with each

bool same_hertz(const OptionalNumber& a, const OptionalNumber& b) {
  return a.has_value() == b.has_value() && (!a || std::abs(*a - *b) <= kSameTone * *b);
}

bool same_band(const Passage& a, const Passage& b) {
  return a.kind == b.kind && a.driven == b.driven && a.relation == b.relation && same_hertz(a.frequency_hz, b.frequency_hz) &&
         same_hertz(a.frequency_from_hz, b.frequency_from_hz) && same_hertz(a.frequency_to_hz, b.frequency_to_hz);
}

bool is_cut_as(const Passage& passage, Band band) {
  switch (band) {
    case Band::kLeft:
      return passage.driven == Driven::kLeft;
    case Band::kRight:
      return passage.driven == Driven::kRight;
    case Band::kLateral:
      return passage.relation == Relation::kInPhase;
    case Band::kVertical:
      return passage.relation == Relation::kAntiphase;
  }
  return false;
}

/// A series of passages: their indices, from the first to the one after the last.
struct Series {
  std::size_t first, last;
};

/// The passages in groups of `bands`, if they are exactly that.
std::vector<Series> series_of_bands(const std::vector<Passage>& passages, const std::vector<Band>& bands) {
  if (bands.empty() || passages.empty() || passages.size() % bands.size() != 0) return {};
  for (std::size_t i = 0; i < passages.size(); ++i) {
    if (!is_cut_as(passages[i], bands[i % bands.size()])) return {};
  }
  std::vector<Series> series;
  for (std::size_t i = 0; i < passages.size(); i += bands.size()) series.push_back({i, i + bands.size()});
  return series;
}

bool has_driven(const std::vector<Passage>& passages, const Series& s, Driven driven) {
  return std::any_of(passages.begin() + static_cast<std::ptrdiff_t>(s.first), passages.begin() + static_cast<std::ptrdiff_t>(s.last),
                     [&](const Passage& p) { return p.driven == driven; });
}

bool is_complete(const std::vector<Passage>& passages, const Series& s) {
  return has_driven(passages, s, Driven::kLeft) && has_driven(passages, s, Driven::kRight);
}

/// The passages in groups that end where a band recurs. A band that a dropout breaks into pieces does not recur.
std::vector<Series> series_until_repeats(const std::vector<Passage>& passages) {
  std::vector<Series> series;
  for (std::size_t i = 0; i < passages.size(); ++i) {
    if (series.empty()) {
      series.push_back({0, 1});
      continue;
    }
    Series& now = series.back();
    const Passage& before = passages[i - 1];
    const bool pause = passages[i].start_s - before.end_s > kSettingPause_s && is_complete(passages, now);
    const bool piece = same_band(passages[i], before) && !pause;
    const auto first = passages.begin() + static_cast<std::ptrdiff_t>(now.first), last = passages.begin() + static_cast<std::ptrdiff_t>(i);
    const bool recurs = std::any_of(first, last, [&](const Passage& p) { return same_band(p, passages[i]); });
    if (recurs && !piece) {
      series.push_back({i, i + 1});
    } else {
      now.last = i + 1;
    }
  }
  return series;
}

/// The pair of passages of one band with the largest difference of crosstalk that cannot be chance.
struct Apart {
  const HeardPassage *earlier = nullptr, *later = nullptr;
  double difference = 0;
};

double squared(double x) { return x * x; }

bool differ(const ComplexEstimate& a, const ComplexEstimate& b) {
  const Complex d = a.value - b.value;
  const double u2_re = squared(a.u_re) + squared(b.u_re), u2_im = squared(a.u_im) + squared(b.u_im);
  return squared(d.real()) / u2_re + squared(d.imag()) / u2_im > squared(kSettingsDiffer_u);
}

Apart farthest_apart(const std::vector<HeardPassage>& heard) {
  Apart apart;
  const std::size_t count = std::min(heard.size(), kMostCompared);
  for (std::size_t i = 0; i < count; ++i) {
    if (heard[i].passage.driven == Driven::kBoth || heard[i].passage.kind != PassageKind::kTone) continue;
    for (std::size_t k = i + 1; k < count; ++k) {
      if (!same_band(heard[i].passage, heard[k].passage) || !differ(heard[i].ratio, heard[k].ratio)) continue;
      const double difference = std::abs(heard[i].ratio.value - heard[k].ratio.value);
      if (difference > apart.difference) apart = {&heard[i], &heard[k], difference};
    }
  }
  return apart;
}

}  // namespace

std::optional<Warning> several_settings(const std::vector<HeardPassage>& heard) {
  const Apart apart = farthest_apart(heard);
  const double apart_deg = degrees(std::atan(apart.difference));
  if (apart.earlier == nullptr || apart_deg <= kSettingsApart_deg) return std::nullopt;
  const Passage& band = apart.earlier->passage;
  return Warning{
      WarningCode::kSeveralSettings,
      fmt::format("the {}-only band of {:.1f} Hz recurs, and its crosstalk at {:.1f} s and at {:.1f} s differs by as much as a turn "
                  "of {:.2f}° causes. The recording is measured as one setting. If it holds several settings, give each of them a "
                  "row with from_s and to_s in the log: measure --split prints such rows.",
                  band.driven == Driven::kLeft ? "left" : "right", band.frequency_hz.value_or(0), band.start_s,
                  apart.later->passage.start_s, apart_deg)};
}

}  // namespace evenwall::internal::measure

namespace evenwall {

std::vector<SettingStretch> settings_in(const Measurement& measurement, const std::vector<Band>& bands) {
  using namespace internal::measure;
  std::vector<Passage> passages = measurement.passages;
  std::stable_sort(passages.begin(), passages.end(), [](const Passage& a, const Passage& b) { return a.start_s < b.start_s; });
  std::vector<Series> series = series_of_bands(passages, bands);
  if (series.empty()) series = series_until_repeats(passages);
  const auto middle_s = [&](std::size_t later) { return 0.5 * (passages[later - 1].end_s + passages[later].start_s); };
  std::vector<SettingStretch> settings;
  for (const Series& s : series) {
    if (!is_complete(passages, s)) continue;
    settings.push_back({s.first == 0 ? 0.0 : middle_s(s.first),
                        s.last == passages.size() ? std::max(measurement.audio.duration_s, passages.back().end_s) : middle_s(s.last)});
  }
  return settings;
}

}  // namespace evenwall
