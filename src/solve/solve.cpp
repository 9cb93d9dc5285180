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
#include "solve/band_optimum.hpp"
#include "solve/choice.hpp"
#include "solve/criteria.hpp"
#include "solve/curves.hpp"
#include "solve/frequency_fits.hpp"
#include "solve/joint_fit.hpp"
#include "solve/method_constants.hpp"
#include "solve/nearest_setting.hpp"
#include "solve/present_state.hpp"
#include "solve/step_trends.hpp"
#include "solve/trade_off.hpp"
#include "solve/true_record.hpp"
#include "solve/uncertainty.hpp"
#include "solve/verdict.hpp"

namespace evenwall::internal::solve {
namespace {

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

Scope scope_of(const JointFit& joint, bool record_stated) {
  if (joint.counts_from) return record_stated ? Scope::kTurnOnAnyRecord : Scope::kTurnOnThisRecord;
  return record_stated ? Scope::kAnyRecord : Scope::kThisRecord;
}

void set_recommended(Solution& solution, const Choice& choice, const JointFit& joint, const TiltAccount& account, bool record_stated) {
  const LeakLevels levels = leak_levels(choice.tilt.tilt_deg, account);
  Recommended& r = solution.recommended;
  r.tilt_deg = choice.tilt.tilt_deg;
  r.u_deg = choice.tilt.u_deg;
  r.interval95_deg = choice.tilt.interval95_deg;
  if (choice.tilt.degrees_of_freedom > 0) r.degrees_of_freedom = choice.tilt.degrees_of_freedom;
  if (!joint.single_unit_step && !joint.counts_from) {
    const auto setting = setting_of(choice, joint.tilt);
    if (setting) r.tilt_units = setting->setting;
    if (setting) r.u_units = setting->u;
    if (setting) r.interval95_units = setting->interval95;
  }
  r.basis = choice.basis;
  r.right_into_left_db = levels.right_into_left.db;
  r.left_into_right_db = levels.left_into_right.db;
  r.scope = scope_of(joint, record_stated);
  r.why = choice.why;
  r.towards_equal = choice.towards_equal;
  r.towards_band = choice.towards_band;
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

void set_least(Solution& solution, const CriterionTilt& least, const TiltAccount& account) {
  const LeakLevels levels = leak_levels(least.tilt_deg, account);
  solution.least_crosstalk = {least.tilt_deg, least.u_deg, least.interval95_deg, levels.right_into_left.db, levels.left_into_right.db};
}

NotCorrectable not_correctable(const CriterionTilt& least, const JointFit& joint, const TiltAccount& account) {
  const auto [rl, lr] = own_leaks(account.psi_rad(radians(least.tilt_deg)), account.shape());
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

/// What the fits at all frequencies give over the band.
struct OverBand {
  std::optional<BandFit> fit;
  std::optional<BandRoot> least;
};

OverBand over_band(const FrequencyFits& all, const SolveOptions& options) {
  OverBand over;
  if (all.answered) over.fit = fit_band(all.fits, *all.answered, options);
  if (over.fit) over.least = band_root(CriterionKind::kLeast, *over.fit);
  return over;
}

/// The turn that remains, the numbers to set, the corrections and the verdict.
void set_outcome(Solution& solution, const Choice& choice, const Session& session, const JointFit& joint) {
  solution.now = now_of(choice, session, joint, solution, solution.warnings);
  solution.set_to = set_to_of(joint, solution);
  solution.corrections = corrections_of(session, joint, solution.options);
  for (Warning& w : verification_warnings(solution)) solution.warnings.push_back(std::move(w));
  solution.verdict = verdict_of(solution);
  if (solution.verdict->state == VerdictState::kEnough) solution.next_step.reset();
  if (solution.verdict->state != VerdictState::kCaptureMore) return;
  if (!solution.next_step) {
    solution.next_step = next_step_of(choice.kind, choice.tilt, lasting_u_deg(solution.uncertainty), joint, Advise::kAlways);
  }
  solution.verdict->text = capture_more_text(solution);
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
  const CriterionTilt least = least_tilt(fit);
  const TiltAccount account = account_of_answer(fit, least);
  const Judged equal = judged(CriterionKind::kEqual, fit);
  solution.equal_crosstalk = equal.told;
  if (equal.tilt) solution.equal_crosstalk.crosstalk_db = leak_levels(equal.tilt->tilt_deg, account).right_into_left.db;
  const Judged phase = joint.sizes_only
                           ? Judged{{false, {}, {}, {}, {}, "it cannot be determined, because no phases were measured"}, std::nullopt}
                           : judged(CriterionKind::kPhase, fit);
  solution.phase_match = phase.told;
  set_least(solution, least, account);
  const FrequencyFits by_frequency = fits_by_frequency(session, options, joint);
  const OverBand over = over_band(by_frequency, options);
  const CriterionTilts candidates{equal, least, phase, over.fit ? &*over.fit : nullptr, over.least};
  const Choice choice = choose(candidates, options.aim ? options.aim : session.facts.aim, tolerance_deg_of(solution), account);
  set_recommended(solution, choice, joint, account, options.record_correction || options.record_u_deg || session.facts.record_u_deg);
  if (joint.counts_from) solution.recommended.from_capture = session.steps[joint.observations.fitted[*joint.counts_from].step].log.capture;
  solution.balance = balance_of(joint);
  solution.tilt_response = tilt_response(joint);
  solution.not_correctable = not_correctable(least, joint, account);
  solution.steps = audited_steps(session, joint);
  solution.curves = crosstalk_curves(joint, account, choice.tilt.tilt_deg);
  solution.by_frequency = results_by_frequency(by_frequency, least, equal.told, choice.tilt.tilt_deg);
  if (over.least) {
    solution.band = band_result(*over.fit, *over.least, least, choice.tilt.tilt_deg, options.weighting.value_or(Weighting::kFlat));
  }
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
  solution.nearest_setting = nearest_setting_of(solution, joint, account);
  solution.trade_off = trade_off_of(solution, joint, account, candidates.band);
  solution.uncertainty = budget_of(choice, least, joint);
  solution.repeatability = repeatability_of(joint);
  solution.next_step = next_step_of(choice.kind, choice.tilt, lasting_u_deg(solution.uncertainty), joint);
  solution.warnings = joint.warnings;
  for (Warning& w : audit_warnings(solution.steps, joint)) solution.warnings.push_back(std::move(w));
  for (Warning& w : contact_warnings(session, joint)) solution.warnings.push_back(std::move(w));
  for (Warning& w : not_verified) solution.warnings.push_back(std::move(w));
  for (Warning& w : repeat_warnings(session, joint)) solution.warnings.push_back(std::move(w));
  warn_of_answer(solution, joint, choice.not_met);
  set_outcome(solution, choice, session, joint);
  return solution;
}

}  // namespace evenwall
