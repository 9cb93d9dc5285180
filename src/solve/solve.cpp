// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/solve.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "evenwall/error.hpp"
#include "solve/advice.hpp"
#include "solve/answer_warnings.hpp"
#include "solve/audit.hpp"
#include "solve/balance.hpp"
#include "solve/criteria.hpp"
#include "solve/curves.hpp"
#include "solve/fit_frequency.hpp"
#include "solve/joint_fit.hpp"
#include "solve/method_constants.hpp"
#include "solve/present_state.hpp"
#include "solve/step_trends.hpp"
#include "solve/true_record.hpp"
#include "solve/uncertainty.hpp"
#include "solve/verdict.hpp"

namespace evenwall::internal::solve {
namespace {

/// A criterion as it is reported, and its tilt if it is determined.
struct Judged {
  Criterion told;
  std::optional<CriterionTilt> tilt;
};

Judged judged(CriterionKind kind, const TiltFit& fit) {
  Judged j;
  const Determination d = determination(kind, fit);
  if (d.determined) j.tilt = criterion_tilt(kind, fit);
  Criterion& c = j.told;
  c.determined = j.tilt.has_value();
  if (!c.determined) {
    c.why = d.determined ? kNoEndInReach : d.why;
    return j;
  }
  c.tilt_deg = j.tilt->tilt_deg;
  c.u_deg = j.tilt->u_deg;
  c.interval95_deg = j.tilt->interval95_deg;
  return j;
}

CriterionTilt least_tilt(const TiltFit& fit) {
  const auto tilt = criterion_tilt(CriterionKind::kLeast, fit);
  if (!tilt) {
    throw Error(ErrorKind::kData,
                "no azimuth can be determined: the 95 % interval of least crosstalk has no end within the limit. The limit is 6° "
                "from least crosstalk (20° if the gauge uncertainty is estimated from the steps). Check the log, and capture more tilts.");
  }
  if (std::abs(tilt->tilt_deg) > kMostTilt_deg) {
    throw Error(
        ErrorKind::kData,
        fmt::format("no azimuth can be determined: least crosstalk would be at {:+.0f}°, and the limit is {:.0f}°. A recording or its row "
                    "in the log contradicts the others. Check them.",
                    tilt->tilt_deg, kMostTilt_deg));
  }
  return *tilt;
}

struct Choice {
  CriterionKind kind;
  CriterionTilt tilt;
  std::string why;
};

Choice choose(const Judged& equal, const CriterionTilt& least, const TiltFit& fit) {
  if (!equal.tilt) return {CriterionKind::kLeast, least, "least crosstalk. Equal crosstalk is not used: " + equal.told.why.value_or("")};
  const double cost_db = rms_crosstalk_db(equal.tilt->tilt_deg, fit.likeliest()) - rms_crosstalk_db(least.tilt_deg, fit.likeliest());
  if (cost_db > kEqualMayCost_db) {
    return {CriterionKind::kLeast, least,
            fmt::format("least crosstalk. Equal crosstalk would raise the total crosstalk by {:.1f} dB, and the limit is {:.0f} dB",
                        cost_db, kEqualMayCost_db)};
  }
  return {CriterionKind::kEqual, *equal.tilt,
          fmt::format("equal crosstalk. Both channels have the same crosstalk, and the total is {:.2f} dB above the least total",
                      std::max(0.0, cost_db))};
}

Scope scope_of(const JointFit& joint, bool record_stated) {
  if (joint.counts_from) return record_stated ? Scope::kTurnOnAnyRecord : Scope::kTurnOnThisRecord;
  return record_stated ? Scope::kAnyRecord : Scope::kThisRecord;
}

void set_recommended(Solution& solution, const Choice& choice, const JointFit& joint, bool record_stated) {
  const LeakLevels levels = leak_levels(choice.tilt.tilt_deg, joint.tilt.likeliest());
  Recommended& r = solution.recommended;
  r.tilt_deg = choice.tilt.tilt_deg;
  r.u_deg = choice.tilt.u_deg;
  r.interval95_deg = choice.tilt.interval95_deg;
  if (choice.tilt.degrees_of_freedom > 0) r.degrees_of_freedom = choice.tilt.degrees_of_freedom;
  if (!joint.single_unit_step && !joint.counts_from) {
    const auto setting = criterion_setting(choice.kind, joint.tilt);
    if (setting) r.tilt_units = setting->setting;
    if (setting) r.u_units = setting->u;
    if (setting) r.interval95_units = setting->interval95;
  }
  r.basis = choice.kind == CriterionKind::kEqual ? Basis::kEqualCrosstalk : Basis::kLeastCrosstalk;
  r.right_into_left_db = levels.right_into_left.db;
  r.left_into_right_db = levels.left_into_right.db;
  r.scope = scope_of(joint, record_stated);
  r.why = choice.why;
}

/// A turn does not show the angle from upright. Its side is known only if its interval does not contain zero.
void keep_what_a_turn_shows(Solution& solution) {
  solution.contact.inside.reset();
  solution.contact.best_inside_deg.reset();
  const auto [low, high] = solution.recommended.interval95_deg;
  const double from_deg = solution.shim.from_tilt_deg;
  if (low > from_deg || high < from_deg) return;
  solution.shim.raises.reset();
  solution.shim.place_shim_at.reset();
}

void set_least(Solution& solution, const CriterionTilt& least, const JointFit& joint) {
  const LeakLevels levels = leak_levels(least.tilt_deg, joint.tilt.likeliest());
  solution.least_crosstalk = {least.tilt_deg, least.u_deg, least.interval95_deg, levels.right_into_left.db, levels.left_into_right.db};
}

NotCorrectable not_correctable(const CriterionTilt& least, const JointFit& joint) {
  const TiltAccount& account = joint.tilt.likeliest();
  const auto [rl, lr] = own_leaks(radians(least.tilt_deg) - account.least_rad, account.shape());
  NotCorrectable n;
  n.least_rms_crosstalk_db = rms_crosstalk_db(least.tilt_deg, account);
  if (joint.sizes_only) return n;
  const double shear = std::abs(0.5 * (rl + lr));
  if (shear > 0) n.shear_db = decibels(shear);
  n.rotation_quadrature_deg = degrees(0.5 * (rl - lr).imag());
  return n;
}

TiltResponse tilt_response(const JointFit& joint) {
  const double scale = joint.tilt.likeliest().scale;
  double variance = 0;
  for (const TiltAccount& a : joint.tilt.accounts) {
    variance += a.probability * (std::max(0.0, a.covariance(1, 1)) + (a.scale - scale) * (a.scale - scale));
  }
  return {scale, std::sqrt(variance), joint.sense};
}

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

FrequencyResult frequency_result(const JointFit& joint, const Criterion& equal, const CriterionTilt& least, double recommended_deg) {
  const LeakLevels levels = leak_levels(recommended_deg, joint.tilt.likeliest());
  return {joint.observations.frequency_hz, equal.tilt_deg,           equal.u_deg, least.tilt_deg, least.u_deg,
          levels.right_into_left.db,       levels.left_into_right.db};
}

/// Whether the tilts of two fits count from the same zero. Without logged tilts, the last recording may lack one of the frequencies.
bool counts_alike(const JointFit& a, const JointFit& b) {
  if (!a.counts_from || !b.counts_from) return a.counts_from == b.counts_from;
  return a.observations.fitted[*a.counts_from].step == b.observations.fitted[*b.counts_from].step;
}

/// Fits each of these frequencies on its own, and gives the crosstalk there at the recommended tilt. `answer`: the session's own result,
/// which is used at its frequency. `answered`: its fit.
std::vector<FrequencyResult> results_by_frequency(const Session& session, const SolveOptions& options, const FrequencyResult& answer,
                                                  double recommended_deg, const JointFit& answered) {
  const double answered_hz = fit_frequency_hz(session, options);
  std::vector<FrequencyResult> results;
  for (const double f : shared_frequencies(session)) {
    SolveOptions at = options;
    at.frequency_hz = f;
    try {
      // Each step measures its own frequency of the tone. All that lie within the match count as the frequency of the answer.
      if (std::abs(fit_frequency_hz(session, at) - answered_hz) <= kFrequencyMatch * answered_hz) {
        results.push_back(answer);
        continue;
      }
      const JointFit joint = fit_jointly(session, at);
      if (!counts_alike(joint, answered)) continue;
      const auto least = criterion_tilt(CriterionKind::kLeast, joint.tilt);
      if (!least) continue;
      results.push_back(frequency_result(joint, judged(CriterionKind::kEqual, joint.tilt).told, *least, recommended_deg));
    } catch (const Error& error) {
      // A frequency that cannot be solved on its own (without a calibration point, for example) is skipped.
      if (error.kind() == ErrorKind::kInternal) throw;
    }
  }
  return results;
}

/// The turn that remains, the numbers to set, the corrections and the verdict.
void set_outcome(Solution& solution, const Choice& choice, const Session& session, const JointFit& joint) {
  solution.now = now_of(choice.kind, session, joint, solution, solution.warnings);
  solution.set_to = set_to_of(joint, solution);
  solution.corrections = corrections_of(session, joint, solution.options);
  for (Warning& w : verification_warnings(solution)) solution.warnings.push_back(std::move(w));
  solution.verdict = verdict_of(solution);
  if (solution.verdict->state == VerdictState::kEnough) solution.next_step.reset();
  if (solution.verdict->state != VerdictState::kCaptureMore) return;
  if (!solution.next_step) solution.next_step = next_step_of(choice.kind, choice.tilt, joint, Advise::kAlways);
  solution.verdict->text += solution.next_step ? ": " + solution.next_step->why + "." : std::string(".");
}

}  // namespace
}  // namespace evenwall::internal::solve

namespace evenwall {

Solution solve(const Session& session, const SolveOptions& options) {
  using namespace internal::solve;
  const JointFit joint = fit_jointly(session, options);
  const TiltFit& fit = joint.tilt;
  Solution solution;
  solution.session = session.facts;
  solution.options = options;
  solution.frequency_hz = joint.observations.frequency_hz;
  const Judged equal = judged(CriterionKind::kEqual, fit);
  solution.equal_crosstalk = equal.told;
  if (solution.equal_crosstalk.determined) {
    solution.equal_crosstalk.crosstalk_db = leak_levels(*solution.equal_crosstalk.tilt_deg, fit.likeliest()).right_into_left.db;
  }
  solution.phase_match = joint.sizes_only ? Criterion{false, {}, {}, {}, {}, "it cannot be determined, because no phases were measured"}
                                          : judged(CriterionKind::kPhase, fit).told;
  const CriterionTilt least = least_tilt(fit);
  set_least(solution, least, joint);
  const Choice choice = choose(equal, least, fit);
  set_recommended(solution, choice, joint, options.record_correction || options.record_u_deg || session.facts.record_u_deg);
  if (joint.counts_from) solution.recommended.from_capture = session.steps[joint.observations.fitted[*joint.counts_from].step].log.capture;
  solution.balance = balance_of(joint);
  solution.tilt_response = tilt_response(joint);
  solution.not_correctable = not_correctable(least, joint);
  solution.steps = audited_steps(session, joint);
  solution.curves = crosstalk_curves(joint, choice.tilt.tilt_deg);
  solution.by_frequency =
      results_by_frequency(session, options, frequency_result(joint, equal.told, least, choice.tilt.tilt_deg), choice.tilt.tilt_deg, joint);
  solution.as_found = as_found_of(session, joint);
  Warnings not_verified;
  solution.verification = verifications_of(session, joint, not_verified);
  if (options.record_correction) take_out_cut_error(*options.record_correction, solution);
  const double to_set_deg = solution.recommended.tilt_deg;
  solution.contact = contact_of(to_set_deg, session.facts, options);
  SolveOptions from = options;
  if (from.from_tilt_deg) from.from_tilt_deg = stated_start_deg(*from.from_tilt_deg, joint);
  solution.shim = shim_of(to_set_deg, start_deg_of(joint), joint.sense, session.facts, from);
  if (joint.counts_from) keep_what_a_turn_shows(solution);
  solution.uncertainty = uncertainty_budget(choice.kind, choice.tilt, joint);
  solution.repeatability = repeatability_of(joint);
  solution.next_step = next_step_of(choice.kind, choice.tilt, joint);
  solution.warnings = joint.warnings;
  for (Warning& w : audit_warnings(solution.steps, joint)) solution.warnings.push_back(std::move(w));
  for (Warning& w : contact_warnings(session, joint)) solution.warnings.push_back(std::move(w));
  for (Warning& w : not_verified) solution.warnings.push_back(std::move(w));
  for (Warning& w : repeat_warnings(session, joint)) solution.warnings.push_back(std::move(w));
  warn_of_answer(solution, joint);
  set_outcome(solution, choice, session, joint);
  return solution;
}

}  // namespace evenwall
