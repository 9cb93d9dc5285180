// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/frequency_fits.hpp"

#include <algorithm>
#include <cmath>

#include "evenwall/error.hpp"
#include "solve/choice.hpp"
#include "solve/criteria.hpp"
#include "solve/curves.hpp"
#include "solve/fit_frequency.hpp"

namespace evenwall::internal::solve {
namespace {

/// Every frequency at which a step has crosstalk both ways. Frequencies within the match of one another count as one.
std::vector<double> shared_frequencies(const Session& session) {
  std::vector<double> wanted;
  for (const Step& step : session.steps) {
    if (step.log.use != StepUse::kYes || !step.measurement()) continue;
    for (const LeakPair& pair : step.measurement()->crosstalk_spectrum) {
      if (!pair.right_into_left || !pair.left_into_right) continue;
      const auto same = [&](double f) { return std::abs(f - pair.frequency_hz) <= kFrequencyMatch * f; };
      if (std::none_of(wanted.begin(), wanted.end(), same)) wanted.push_back(pair.frequency_hz);
    }
  }
  std::sort(wanted.begin(), wanted.end());
  return wanted;
}

/// Whether the tilts of two fits count from the same zero. Without logged tilts, the last recording may lack one of the frequencies.
bool counts_alike(const JointFit& a, const JointFit& b) {
  if (!a.counts_from || !b.counts_from) return a.counts_from == b.counts_from;
  return a.observations.fitted[*a.counts_from].step == b.observations.fitted[*b.counts_from].step;
}

}  // namespace

FrequencyFits fits_by_frequency(const Session& session, const SolveOptions& options, const JointFit& answer) {
  const double answered_hz = fit_frequency_hz(session, options);
  FrequencyFits all;
  for (const double f : shared_frequencies(session)) {
    SolveOptions at = options;
    at.frequency_hz = f;
    try {
      // Each step measures its own frequency of the tone. All that lie within the match count as the frequency of the answer.
      if (std::abs(fit_frequency_hz(session, at) - answered_hz) <= kFrequencyMatch * answered_hz) {
        all.answered = all.fits.size();
        all.fits.push_back(answer);
        continue;
      }
      JointFit joint = fit_jointly(session, at);
      if (counts_alike(joint, answer)) all.fits.push_back(std::move(joint));
    } catch (const Error& error) {
      if (error.kind() == ErrorKind::kInternal) throw;
    }
  }
  return all;
}

std::vector<FrequencyResult> results_by_frequency(const FrequencyFits& all, double recommended_deg) {
  std::vector<FrequencyResult> results;
  for (const JointFit& joint : all.fits) {
    const auto least = criterion_tilt(CriterionKind::kLeast, joint.tilt);
    if (!least) continue;
    const Criterion equal = judged(CriterionKind::kEqual, joint.tilt).told;
    const LeakLevels levels = leak_levels(recommended_deg, account_of_answer(joint.tilt, *least));
    results.push_back({joint.observations.frequency_hz, equal.tilt_deg, equal.u_deg, least->tilt_deg, least->u_deg,
                       levels.right_into_left.db, levels.left_into_right.db});
  }
  return results;
}

}  // namespace evenwall::internal::solve
