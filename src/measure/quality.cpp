// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/quality.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <functional>

#include "base/counted.hpp"
#include "measure/method_constants.hpp"

namespace evenwall::internal::measure {
namespace {

std::string place(const HeardPassage& p) {
  const char* driven = p.passage.driven == Driven::kLeft ? "left-only" : p.passage.driven == Driven::kRight ? "right-only" : "both-channel";
  return fmt::format("{} passage at {:.1f} s", driven, p.passage.start_s);
}

double tone_dbfs(const HeardPassage& p) { return std::max(p.passage.level_left_dbfs, p.passage.level_right_dbfs); }

void warn(Warnings& warnings, bool when, WarningCode code, const std::string& message) {
  if (when) warnings.push_back({code, message});
}

/// Warns of gaps that cost little of the passage, and of samples that were doubled or lost.
void warn_of_interruptions(const HeardPassage& p, Warnings& out) {
  if (!p.silences.empty() && p.lost_fraction <= kLostShare) {
    const auto length = [](const Interval& gap) { return gap[1] - gap[0]; };
    const Interval& longest =
        *std::max_element(p.silences.begin(), p.silences.end(), [&](const auto& a, const auto& b) { return length(a) < length(b); });
    warn(out, true, WarningCode::kDropout,
         fmt::format("{}: the tone has {} {:.1f} ms, at {:.2f} s. It has less weight there. Check the recorder.", place(p),
                     p.silences.size() == 1 ? "a gap of digital silence of"
                                            : fmt::format("{} gaps of digital silence; the longest lasts", p.silences.size()),
                     1000 * length(longest), longest[0]));
  }
  if (p.phase_jumps.empty()) return;
  const PhaseJump& first = p.phase_jumps.front();
  warn(out, true, WarningCode::kSamplesLost,
       fmt::format("{}: the tone's phase jumps by {:.0f}° at {:.2f} s{}. Samples were lost or written twice, or the stylus jumped. The "
                   "passage is still measured. Check the recorder's buffer, and capture again.",
                   place(p), degrees(first.by_rad), first.at_s,
                   p.phase_jumps.size() == 1 ? "" : " and " + base::counted(p.phase_jumps.size() - 1, "more time")));
}

void warn_of(const HeardPassage& p, Warnings& out) {
  const std::string where = place(p);
  const Passage& passage = p.passage;
  const double level_dbfs = tone_dbfs(p);
  warn(out, p.clipped_fraction > kClippedSoft, WarningCode::kClipped,
       fmt::format("{}: {:.2f} % of the samples are clipped. The passage is still measured. Lower the recording level and capture again.",
                   where, 100 * p.clipped_fraction));
  warn(out, level_dbfs < kLowLevel_dbfs, WarningCode::kLowSignal,
       fmt::format("{}: the tone is at only {:.1f} dBFS. It is still measured. Raise the recording level.", where, level_dbfs));
  warn(out, passage.snr_db < kPoorSnr_db, WarningCode::kNoisy,
       fmt::format("{}: the tone is only {:.1f} dB above the noise. It is still measured. Clean the record and the stylus.", where,
                   passage.snr_db));
  warn(
      out, p.lost_fraction > kLostShare, WarningCode::kDropout,
      fmt::format("{}: dropouts or clicks spoil {:.1f} % of it. That part is excluded. Check the recorder.", where, 100 * p.lost_fraction));
  if (p.level_step) {
    out.push_back(
        {WarningCode::kLevelStep,
         fmt::format("{}: its level changes by {:+.1f} dB at {:.1f} s. The crosstalk is a ratio and remains valid, but the balance from "
                     "levels does not. Check that no automatic level control is on and that the contacts are clean, and capture "
                     "again.",
                     where, p.level_step->change_db, p.level_step->at_s)});
  }
  warn_of_interruptions(p, out);
  warn(out, p.quiet_steps && passage.driven != Driven::kBoth, WarningCode::kQuantised,
       fmt::format(
           "{}: the tone of the undriven channel is only {:.1f} steps of the file high, and the file has no dither. The crosstalk may "
           "be wrong by half a step, and its uncertainty includes this. Record with 24 bits.",
           where, p.quiet_steps.value_or(0)));
  warn(out, std::abs(p.dc) > kDcWorthTelling, WarningCode::kDcOffset,
       fmt::format("{}: the DC offset is {:.1f} % of full scale. It does not affect the result. Check the recorder.", where, 100 * p.dc));
  warn(out, passage.wow_percent.value_or(0) > kUnevenWow_percent, WarningCode::kUnevenSpeed,
       fmt::format("{}: the speed varies by {:.2f} % once per revolution. The passage is still measured. Centre the record.", where,
                   passage.wow_percent.value_or(0)));
  warn(out, !p.whole_revolution, WarningCode::kShortPassage,
       fmt::format("{}: it lasts {:.2f} s, less than one revolution, so warp cannot be distinguished from crosstalk. The uncertainty is "
                   "enlarged. Capture the whole band.",
                   where, passage.end_s - passage.start_s));
}

/// Warns of hum once, for the passage with the most hum relative to its tone, because hum comes from the setup and not from a passage.
void warn_of_hum(const std::vector<HeardPassage>& heard, Warnings& out) {
  const HeardPassage* worst = nullptr;
  const auto hum_db = [](const HeardPassage& p) { return p.hum.level_dbfs - tone_dbfs(p); };
  for (const HeardPassage& p : heard) {
    if (p.hum.mains_hz > 0 && std::isfinite(hum_db(p)) && (worst == nullptr || hum_db(p) > hum_db(*worst))) worst = &p;
  }
  if (worst == nullptr) return;
  warn(out, hum_db(*worst) > kLoudHum_db, WarningCode::kHum,
       fmt::format(
           "{}: the hum of {:.0f} Hz mains is at {:.1f} dBFS, {:.1f} dB relative to the tone. The passage is still measured. Check the "
           "earth lead and the routing of the cables.",
           place(*worst), worst->hum.mains_hz, worst->hum.level_dbfs, hum_db(*worst)));
}

/// Warns once of a speed that was found, because all passages have the same speed.
void warn_of_speed(const std::vector<HeardPassage>& heard, Warnings& out) {
  const auto found = std::find_if(heard.begin(), heard.end(), [](const HeardPassage& p) { return p.found_rpm.has_value(); });
  if (found == heard.end()) return;
  out.push_back({WarningCode::kSpeedFound,
                 fmt::format("{}: no speed is stated, and its pitch and its crosstalk recur {:.1f} times per minute. This is used as the "
                             "record's speed. If the record turned at another speed, state it with --rpm or as `rpm` in session.json.",
                             place(*found), *found->found_rpm)});
}

}  // namespace

Warnings passage_warnings(const std::vector<HeardPassage>& heard) {
  Warnings warnings;
  for (const HeardPassage& p : heard) warn_of(p, warnings);
  warn_of_speed(heard, warnings);
  warn_of_hum(heard, warnings);
  return warnings;
}

namespace {

bool swapped(const std::vector<HeardPassage>& heard, const std::vector<Band>& bands) {
  std::vector<Driven> expected;
  for (const Band band : bands) {
    if (band == Band::kLeft) expected.push_back(Driven::kLeft);
    if (band == Band::kRight) expected.push_back(Driven::kRight);
  }
  std::vector<Driven> found;
  for (const HeardPassage& p : heard) {
    if (p.passage.driven != Driven::kBoth) found.push_back(p.passage.driven);
  }
  if (expected.empty() || found.size() != expected.size()) return false;
  return std::equal(found.begin(), found.end(), expected.begin(), std::not_equal_to<>());
}

/// Whether every both-channel passage has the opposite of the relation that its band was cut with.
bool reversed(const std::vector<HeardPassage>& heard, const std::vector<Band>& bands) {
  std::vector<Relation> expected;
  for (const Band band : bands) {
    if (band == Band::kLateral) expected.push_back(Relation::kInPhase);
    if (band == Band::kVertical) expected.push_back(Relation::kAntiphase);
  }
  std::vector<Relation> found;
  for (const HeardPassage& p : heard) {
    if (p.passage.relation) found.push_back(*p.passage.relation);
  }
  if (expected.empty() || found.size() != expected.size()) return false;
  return std::equal(found.begin(), found.end(), expected.begin(), std::not_equal_to<>());
}

}  // namespace

Warnings order_warnings(const std::vector<HeardPassage>& heard, const std::vector<Band>& bands) {
  Warnings warnings;
  warn(warnings, swapped(heard, bands), WarningCode::kSwappedOrReversed,
       "the left-only and right-only passages are in the opposite order of `bands`. Left and right are swapped somewhere between "
       "cartridge and file. Switch off, then check the leads.");
  warn(warnings, reversed(heard, bands), WarningCode::kPolarityReversed,
       "the both-channel passages have the opposite relation of `bands` (a lateral band is in phase, a vertical one in antiphase). The "
       "polarity of one channel is reversed. Switch off, then check the leads.");
  return warnings;
}

}  // namespace evenwall::internal::measure
