// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/joined_sides.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <optional>
#include <utility>

#include "audio/joined_source.hpp"
#include "base/recording_name.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"

namespace evenwall::internal::app {
namespace {

namespace fs = std::filesystem;

/// The only side of which a step has one-channel passages. Nothing if it has both or none.
std::optional<Driven> only_side(const Step& step) {
  const Measurement* measured = step.measurement();
  if (measured == nullptr) return std::nullopt;
  bool left = false, right = false;
  for (const LeakPair& pair : measured->crosstalk_spectrum) {
    left |= pair.left_into_right.has_value();
    right |= pair.right_into_left.has_value();
  }
  if (left == right) return std::nullopt;
  return left ? Driven::kLeft : Driven::kRight;
}

bool same_setting(const LogEntry& a, const LogEntry& b) {
  const bool has_tilt = a.tilt_deg || a.tilt_units;
  return has_tilt && a.tilt_deg == b.tilt_deg && a.tilt_units == b.tilt_units && a.use == b.use && a.leads_swapped == b.leads_swapped;
}

audio::SourceStretch stretch_of(const fs::path& folder, const LogEntry& log) {
  return {open_capture(folder / log.capture).audio, log.from_s, log.to_s};
}

/// A stream cannot be read a second time.
bool can_be_read_again(const fs::path& path) {
  std::error_code fault;
  return fs::is_regular_file(path, fault);
}

}  // namespace

JoinedSides::JoinedSides(fs::path folder, MeasureOptions options, std::function<void(Step)> take, std::function<void(Warning)> warn)
    : folder_(std::move(folder)), options_(std::move(options)), take_(std::move(take)), warn_(std::move(warn)) {
  options_.bands.clear();  // the order of two recordings is not that of the bands on the record
}

void JoinedSides::add(Step step) {
  if (held_.empty() && !only_side(step)) return take_(std::move(step));
  held_.push_back(std::move(step));
}

/// Measures both steps together. Returns false, with nothing changed, if that gives no pair of sides.
bool JoinedSides::join(Step& first, Step& second) {
  try {
    const auto source = audio::joined_source(stretch_of(folder_, first.log), stretch_of(folder_, second.log));
    Measurement measured = measure(*source, options_);
    measured.order_known = false;
    const auto& first_hash = first.measurement()->audio.sha256;
    const auto& second_hash = second.measurement()->audio.sha256;
    if (first_hash && second_hash) measured.audio.sha256 = *first_hash + " + " + *second_hash;
    Step both{first.log, std::move(measured)};
    if (only_side(both)) return false;
    const std::string names = base::recording_name(first.log) + " and " + base::recording_name(second.log);
    if (first.log.capture == second.log.capture) {
      // Two parts of one recording are named by the first of them.
      both.log.from_s = std::min(first.log.from_s.value_or(0), second.log.from_s.value_or(0));
      both.log.to_s.reset();
    } else {
      both.log.from_s.reset();
      both.log.to_s.reset();
      both.log.capture = first.log.capture + " + " + second.log.capture;
    }
    warn_({WarningCode::kJoined,
           fmt::format("{} hold one side each, and are logged at the same tilt. They were measured together, as one step. "
                       "If they are of two settings, or of two recording levels, capture both bands in one recording.",
                       names)});
    first = std::move(both);
    return true;
  } catch (const Error& error) {
    if (error.kind() == ErrorKind::kInternal) throw;
    return false;  // both steps stay, and the reason why they cannot be fitted is reported for each
  }
}

void JoinedSides::finish() {
  for (std::size_t i = 0; i < held_.size(); ++i) {
    const std::optional<Driven> side = only_side(held_[i]);
    if (side && can_be_read_again(folder_ / held_[i].log.capture)) {
      for (std::size_t k = i + 1; k < held_.size(); ++k) {
        const std::optional<Driven> other = only_side(held_[k]);
        if (!other || other == side || !same_setting(held_[i].log, held_[k].log) || !can_be_read_again(folder_ / held_[k].log.capture))
          continue;
        if (!join(held_[i], held_[k])) continue;
        held_.erase(held_.begin() + static_cast<std::ptrdiff_t>(k));
        break;
      }
    }
    take_(std::move(held_[i]));
  }
  held_.clear();
}

}  // namespace evenwall::internal::app
