// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/repeated_recordings.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <string>

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

/// The steps that hold one recording.
class Recording {
 public:
  Recording(const std::vector<Step>& steps, const std::vector<std::size_t>& members) {
    for (const std::size_t i : members) members_.push_back(&steps[i]);
    // A repeated command may have added the tilt that was missing the first time.
    std::stable_partition(members_.begin(), members_.end(), [](const Step* step) { return has_tilt(*step); });
  }

  /// Adds to `warnings`, adds the steps to remove to `repeated`, and the steps to exclude, with the reasons, to `contradicting`.
  void judge(Warnings& warnings, std::set<const Step*>& repeated, std::map<const Step*, std::string>& contradicting) {
    for (const Step* step : members_) {
      if (const auto contradiction = contradiction_of(*step)) {
        contradicting[step] = *contradiction;
        warnings.push_back({WarningCode::kSameRecording, *contradiction});
        continue;
      }
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
  /// The reason why the step contradicts the first setting, which counts, as it does for one file name in two rows of a log.
  [[nodiscard]] std::optional<std::string> contradiction_of(const Step& step) const {
    if (!has_tilt(step)) return std::nullopt;
    const auto settled = std::find_if(kept_.begin(), kept_.end(), [](const Step* other) { return has_tilt(*other); });
    if (settled == kept_.end() || same_setting(step, **settled)) return std::nullopt;
    return fmt::format(
        "{} at {}: its audio is that of {}, which is logged at {}. A recording has one tilt, so this step is excluded. Correct the log.",
        base::escaped(step.log.capture), setting_text(step), base::escaped((*settled)->log.capture), setting_text(**settled));
  }

  void warn_of_repeats(Warnings& warnings) const {
    const std::string& first = kept_.front()->log.capture;
    std::set<std::string> others;
    for (const Step* step : repeats_) others.insert(step->log.capture);
    others.erase(first);
    std::string named = others.empty() ? "" : fmt::format(", also as {}", base::escaped(*others.begin()));
    if (others.size() > 1) named += fmt::format(" and {} more", others.size() - 1);
    warnings.push_back(
        {WarningCode::kDuplicateReading, fmt::format("{}: the session holds this recording {} times{}. It is counted once. Remove "
                                                     "the other rows or lines.",
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
                                    "is kept. Capture again to verify.",
                                    base::escaped(verifying->log.capture), base::escaped(fitted->log.capture))});
  }

  std::vector<const Step*> members_, kept_, repeats_;
};

}  // namespace

std::vector<ExcludedStep> count_recordings_once(Session& session) {
  std::vector<std::size_t> compared;
  std::vector<const Measurement*> measurements;
  for (std::size_t i = 0; i < session.steps.size(); ++i) {
    const Step& step = session.steps[i];
    if (step.log.use == StepUse::kNo || !step.measurement()) continue;
    compared.push_back(i);
    measurements.push_back(step.measurement());
  }
  std::set<const Step*> repeated;
  std::map<const Step*, std::string> contradicting;
  for (std::vector<std::size_t>& members : measurements_of_same_audio(measurements)) {
    for (std::size_t& member : members) member = compared[member];
    Recording(session.steps, members).judge(session.warnings, repeated, contradicting);
  }
  std::vector<ExcludedStep> excluded;
  std::vector<Step> once;
  for (Step& step : session.steps) {
    if (repeated.contains(&step)) continue;
    if (const auto at = contradicting.find(&step); at != contradicting.end()) {
      excluded.push_back({once.size(), {ReadingFault::kSameRecording, at->second}});
    }
    once.push_back(std::move(step));
  }
  session.steps = std::move(once);
  return excluded;
}

void exclude(const std::vector<ExcludedStep>& excluded, Session& session) {
  for (const ExcludedStep& step : excluded) session.steps[step.index].result = step.error;
}

}  // namespace evenwall::internal::app
