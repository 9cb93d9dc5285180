// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/step_intake.hpp"

#include <fmt/format.h>

#include <map>
#include <string_view>
#include <tuple>
#include <utility>
#include <vector>

#include "app/repeated_recordings.hpp"
#include "app/session_input.hpp"
#include "base/counted.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"

namespace evenwall::internal::app {
namespace {

constexpr std::size_t kMostSteps = 5000;  // usable steps; a fit of more takes too long
constexpr std::size_t kNamedDifferent = 20;

[[noreturn]] void refuse_length(const std::string& name) {
  throw Error(
      ErrorKind::kInput,
      fmt::format("{}: this input holds more than {} usable steps. It was not solved. Split it into several sessions.", name, kMostSteps));
}

bool same_facts(const SessionFacts& a, const SessionFacts& b) {
  const auto all = [](const SessionFacts& f) {
    return std::tie(f.cartridge, f.record, f.record_side, f.rig, f.bands, f.gauge_u_deg, f.gauge_zero_u_deg, f.gauge_scale_u,
                    f.record_u_deg, f.slope_u, f.cut_level_difference_db, f.cut_level_u_db, f.electronics_crosstalk_db, f.hole_spacing_mm,
                    f.shim_span_mm, f.rpm, f.calibration, f.stylus, f.frequency_hz, f.cartridge_model, f.tolerance_deg, f.aim, f.settings);
  };
  return all(a) == all(b);
}

}  // namespace

void StepIntake::add(Step step) {
  if (step.error() && !excluded_.add(step.error()->message, session_.warnings, "the step is excluded: ")) return;
  keep(std::move(step));
}

void StepIntake::keep(Step step) {
  if (step.measurement() && ++usable_ > kMostSteps) refuse_length(name_);
  session_.steps.push_back(std::move(step));
}

void StepIntake::finish() {
  const std::vector<ExcludedStep> contradicting = count_recordings_once(session_);
  excluded_.count(session_.warnings);
  // Includes the warnings of the steps that are excluded afterwards.
  for (Warning& w : warnings_of_steps(session_.steps)) session_.warnings.push_back(std::move(w));
  exclude(contradicting, session_);
}

void FactsIntake::add(const Reading& reading) {
  if (!reading.session) return;
  if (!first_) {
    first_ = reading.step.log.capture;
    session_.facts = *reading.session;
  } else if (!same_facts(session_.facts, *reading.session) && ++different_ <= kNamedDifferent) {
    session_.warnings.push_back(
        {WarningCode::kSessionDiffers, fmt::format("{}: its session data differ from those of {}, which are used. Solve the "
                                                   "readings separately if they are of several sessions.",
                                                   base::escaped(reading.step.log.capture), base::escaped(*first_))});
  }
}

void FactsIntake::finish() {
  if (different_ <= kNamedDifferent) return;
  session_.warnings.push_back({WarningCode::kSessionDiffers,
                               fmt::format("{} from {}. The data of {} are used. Solve the readings separately if they are of several "
                                           "sessions.",
                                           base::counted(different_ - kNamedDifferent, "more reading differs in its session data",
                                                         "more readings differ in their session data"),
                                           base::escaped(*first_), base::escaped(*first_))});
}

ReadingsIntake::ReadingsIntake(const std::string& name) : facts_(session_), steps_(session_, base::escaped(name)) {}

void ReadingsIntake::add(Reading reading) {
  facts_.add(reading);
  steps_.add(std::move(reading.step));
}

Session ReadingsIntake::finish() {
  facts_.finish();
  steps_.finish();
  return std::move(session_);
}

Warnings warnings_of_steps(const std::vector<Step>& steps) {
  struct Shared {
    const Warning* warning;
    const std::string *first, *last;  ///< names of captures
    std::size_t captures = 1;
  };
  std::vector<Shared> told;
  std::map<std::pair<WarningCode, std::string_view>, std::size_t> known;  // indices in `told`
  for (const Step& step : steps) {
    if (!step.measurement()) continue;
    for (const Warning& w : step.measurement()->warnings) {
      // The fit determines the wiring from all steps and reports it once.
      if (w.code == WarningCode::kSwappedOrReversed || w.code == WarningCode::kPolarityReversed) continue;
      const std::string& capture = step.log.capture;
      const auto [at, is_new] = known.try_emplace({w.code, w.message}, told.size());
      if (is_new) {
        told.push_back({&w, &capture, &capture});
      } else if (Shared& shared = told[at->second]; *shared.last != capture) {
        shared.last = &capture;
        ++shared.captures;
      }
    }
  }
  Warnings warnings;
  for (const Shared& shared : told) {
    std::string where = base::escaped(*shared.first);
    if (shared.captures > 1) where += fmt::format(" and {} more", shared.captures - 1);
    const Warning& w = *shared.warning;
    // All steps share one session file, so no capture is named.
    warnings.push_back({w.code, w.code == WarningCode::kUnknownKey ? w.message : where + ": " + w.message});
  }
  return warnings;
}

}  // namespace evenwall::internal::app
