// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/repeated_recordings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "app/same_measurement.hpp"
#include "base/text.hpp"

namespace evenwall::internal::app {
namespace {

bool has_tilt(const Step& step) { return step.log.tilt_deg || step.log.tilt_units; }

bool same_setting(const Step& a, const Step& b) {
  return a.log.tilt_deg == b.log.tilt_deg && a.log.tilt_units == b.log.tilt_units && a.log.leads_swapped == b.log.leads_swapped;
}

std::string setting_text(const Step& step) {
  const LogEntry& log = step.log;
  const std::string tilt = log.tilt_deg ? fmt::format("tilt_deg {:g}", *log.tilt_deg) : fmt::format("tilt_units {:g}", *log.tilt_units);
  return tilt + (log.leads_swapped ? " with swapped leads" : "");
}

/// The steps of one recording.
class Recording {
 public:
  Recording(std::vector<Step>& steps, const std::vector<std::size_t>& members) {
    for (const std::size_t i : members) members_.push_back(&steps[i]);
  }

  /// Adds what it found to the warnings, and the steps to remove to `repeated`.
  void judge(Warnings& warnings, std::set<const Step*>& repeated) {
    for (Step* step : members_) {
      if (contradicts(*step, warnings)) continue;
      const auto same_use = [&](const Step* other) { return other->log.use == step->log.use; };
      if (std::any_of(kept_.begin(), kept_.end(), same_use)) {
        repeats_.push_back(step);
        repeated.insert(step);
      } else {
        kept_.push_back(step);
      }
    }
    if (!repeats_.empty()) warn_of_repeats(warnings);
    warn_of_verification(warnings);
  }

 private:
  /// The first setting counts, as it does for one file name in two rows of a log.
  bool contradicts(Step& step, Warnings& warnings) const {
    if (!has_tilt(step)) return false;
    const auto settled = std::find_if(kept_.begin(), kept_.end(), [](const Step* other) { return has_tilt(*other); });
    if (settled == kept_.end() || same_setting(step, **settled)) return false;
    const std::string message = fmt::format(
        "{} at {}: the audio is that of {}, which is logged at {}. One recording has one tilt, so this step is excluded; correct the log",
        base::escaped(step.log.capture), setting_text(step), base::escaped((*settled)->log.capture), setting_text(**settled));
    step.result = ReadingError{ReadingFault::kSameRecording, message};
    warnings.push_back({WarningCode::kSameRecording, message});
    return true;
  }

  void warn_of_repeats(Warnings& warnings) const {
    const std::string& first = kept_.front()->log.capture;
    std::set<std::string> others;
    for (const Step* step : repeats_) others.insert(step->log.capture);
    others.erase(first);
    std::string named = others.empty() ? "" : fmt::format(", also as {}", base::escaped(*others.begin()));
    if (others.size() > 1) named += fmt::format(" and {} more", others.size() - 1);
    warnings.push_back(
        {WarningCode::kDuplicateReading, fmt::format("{}: the session holds this recording {} times{}. It is counted once; remove "
                                                     "the other rows or lines",
                                                     base::escaped(first), repeats_.size() + 1, named)});
  }

  void warn_of_verification(Warnings& warnings) const {
    const auto kept_for = [&](StepUse use) {
      const auto found = std::find_if(kept_.begin(), kept_.end(), [&](const Step* s) { return s->log.use == use; });
      return found == kept_.end() ? nullptr : *found;
    };
    const Step* fitted = kept_for(StepUse::kYes);
    const Step* verifying = kept_for(StepUse::kVerify);
    if (fitted == nullptr || verifying == nullptr) return;
    warnings.push_back({WarningCode::kSameRecording,
                        fmt::format("{}: this verification has the audio of {}, which is fitted, so its agreement proves nothing. It "
                                    "is kept; capture again to verify",
                                    base::escaped(verifying->log.capture), base::escaped(fitted->log.capture))});
  }

  std::vector<Step*> members_, kept_, repeats_;
};

}  // namespace

void count_recordings_once(Session& session) {
  std::vector<std::size_t> compared;
  std::vector<const Measurement*> measurements;
  for (std::size_t i = 0; i < session.steps.size(); ++i) {
    const Step& step = session.steps[i];
    if (step.log.use == StepUse::kNo || !step.measurement()) continue;
    compared.push_back(i);
    measurements.push_back(step.measurement());
  }
  std::set<const Step*> repeated;
  for (std::vector<std::size_t>& members : measurements_of_same_audio(measurements)) {
    for (std::size_t& member : members) member = compared[member];
    Recording(session.steps, members).judge(session.warnings, repeated);
  }
  if (repeated.empty()) return;
  std::vector<Step> once;
  for (Step& step : session.steps) {
    if (!repeated.contains(&step)) once.push_back(std::move(step));
  }
  session.steps = std::move(once);
}

}  // namespace evenwall::internal::app
