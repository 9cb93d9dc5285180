// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/frequency_fits.hpp"

#include <algorithm>
#include <cmath>
#include <numeric>

#include "evenwall/error.hpp"
#include "numeric/distributions.hpp"
#include "solve/agreement.hpp"
#include "solve/band_constants.hpp"
#include "solve/band_optimum.hpp"
#include "solve/choice.hpp"
#include "solve/criteria.hpp"
#include "solve/curves.hpp"
#include "solve/electronics.hpp"
#include "solve/fit_frequency.hpp"
#include "solve/method_constants.hpp"
#include "solve/prepared_fit.hpp"
#include "solve/slope_doubt.hpp"
#include "solve/step_wiring.hpp"

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

/// Corrects and excludes the recordings that the answer corrects and excludes, and takes its spread of the gains. A delay shifts the phase
/// in proportion to the frequency.
void settle_as(const JointFit& answer, JointFit& joint) {
  auto& fitted = joint.observations.fitted;
  const auto is_among = [](const std::vector<std::size_t>& steps, std::size_t step) {
    return std::find(steps.begin(), steps.end(), step) != steps.end();
  };
  const auto is_excluded = [&](const Observation& o) { return is_among(answer.observations.set_aside, o.step); };
  fitted.erase(std::remove_if(fitted.begin(), fitted.end(), is_excluded), fitted.end());
  for (std::size_t row = 0; row < fitted.size(); ++row) {
    const bool is_reversed = is_among(answer.reversed_steps, fitted[row].step);
    rewire({row, answer.swapped(fitted[row].step), is_reversed}, fitted[row]);
  }
  joint.gains.spread = answer.gains.spread;
  joint.gains.spread.phase_rad *= joint.observations.frequency_hz / answer.observations.frequency_hz;
}

/// Fits the signal, with the sense and polarity of the answer. Returns whether its numbers are finite.
bool fit_signal_of(const JointFit& answer, JointFit& joint) {
  joint.sense = answer.sense;
  joint.polarity_turned = answer.polarity_turned;
  if (joint.polarity_turned) turn_polarity(joint);
  auto& fitted = joint.observations.fitted;
  if (fitted.empty()) return false;
  widen(joint.observations);
  joint.signal = fit_signal(fitted, joint.gains);
  return joint.signal.psi_rad.allFinite() && joint.signal.common.allFinite();
}

/// p-value of the signal of one cartridge; 0 if the fit is not finite.
double agreement_of(const JointFit& answer, JointFit& joint) {
  if (!fit_signal_of(answer, joint)) return 0;
  return numeric::chi_square_upper(joint.signal.chi2, std::max(1.0, joint.signal.degrees_of_freedom));
}

/// The slow end of a linear sweep lasts a few periods in a third octave, and the level there can be wrong by decibels. Leaves the gain to
/// the crosstalk.
JointFit without_levels(JointFit joint) {
  Rows rows(joint.observations.fitted.size());
  std::iota(rows.begin(), rows.end(), std::size_t{0});
  joint.observations.fitted = leaks_of(joint.observations.fitted, rows, joint.gains);
  joint.gains.u_ln_cut_ratio = kUninformedCut_neper;
  return joint;
}

/// The signal of the same recordings at another frequency, `options.frequency_hz`. The true tilts are those of the answer, so nothing is
/// fitted to the log, and `tilt` stays empty. The recordings are settled as in the answer. If the signal then contradicts one cartridge,
/// the levels are not used, and after that the recordings are settled anew. Returns nothing if the contradiction remains, or without
/// phases.
std::optional<JointFit> fit_beside(const JointFit& answer, const Session& session, const SolveOptions& options) {
  JointFit joint = arranged(session, options);
  if (joint.sizes_only || answer.sizes_only) return std::nullopt;
  const bool is_counted = answer.counts_from.has_value();
  if (joint.slope_u == 0 && !is_counted) {
    settle_as(answer, joint);
    JointFit free = without_levels(joint);
    if (agreement_of(answer, joint) > kAgreesBeside) return joint;
    if (agreement_of(answer, free) > kAgreesBeside) return free;
  }
  joint = prepared(session, options);
  return agreement_of(answer, joint) > kContradictsBeside ? std::optional(std::move(joint)) : std::nullopt;
}

/// The part of the variance of least crosstalk that is not due to the session's signal: gauge, record, slopes.
double variance_beside_signal(const JointFit& own, const CriterionTilt& least) {
  const BandPoint signal = band_point(own, own).value();
  const double u_rad = radians(least.u_deg);
  return std::max(0.0, u_rad * u_rad - signal.covariance(0, 0) - signal.common_u_rad * signal.common_u_rad -
                           slope_variance_rad2(CriterionKind::kLeast, own.tilt.likeliest()));
}

/// The session's fit of the log, as one account, with the response at another frequency.
std::optional<TiltFit> moved_tilt(const FrequencyFits& all, const CriterionTilt& least, const JointFit& at) {
  if (!all.answered) return std::nullopt;
  const JointFit& own = all.fits[*all.answered];
  const auto point = band_point(own, at);
  if (!point) return std::nullopt;
  TiltAccount account;
  account.probability = 1;
  account.least_rad = radians(least.tilt_deg) + point->offset_rad;
  account.common = at.signal.common;
  account.signal_covariance = at.signal.covariance.bottom_right_corner(kCommonSize);
  account.covariance = Eigen::MatrixXd::Zero(2 + kCommonSize, 2 + kCommonSize);
  account.signal_covariance.topLeftCorner<kShapeSize, kShapeSize>() = point->covariance.bottomRightCorner<kShapeSize, kShapeSize>();
  account.covariance.bottomRightCorner(kCommonSize, kCommonSize) = account.signal_covariance;
  account.covariance.block<1, kShapeSize>(0, 2) = point->covariance.row(0).tail<kShapeSize>();
  account.covariance.block<kShapeSize, 1>(2, 0) = point->covariance.col(0).tail<kShapeSize>();
  account.covariance(0, 0) = point->covariance(0, 0);
  account.known_covariance = account.covariance;
  if (at.electronics) add_offset_doubt(electronics_doubt(*at.electronics), account);
  add_offset_doubt(groove_doubt(at.observations.fitted), account);
  add_slope_doubt(at.slope_u, account);
  const double other = variance_beside_signal(own, least);
  account.covariance(0, 0) += other;
  const double share = least.u_deg > 0 ? other / (radians(least.u_deg) * radians(least.u_deg)) : 0;
  // By Welch and Satterthwaite, of this part alone.
  if (least.degrees_of_freedom > 0) account.degrees_of_freedom = std::max(1.0, least.degrees_of_freedom * share * share);
  TiltFit tilt;
  tilt.gauge = own.tilt.gauge;
  tilt.u_zero_rad = own.tilt.u_zero_rad;
  tilt.accounts.push_back(std::move(account));
  return tilt;
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
      auto joint = answer.sizes_only ? fit_jointly(session, at) : fit_beside(answer, session, at);
      if (joint && counts_alike(*joint, answer)) all.fits.push_back(*std::move(joint));
    } catch (const Error& error) {
      if (error.kind() == ErrorKind::kInternal) throw;
    }
  }
  return all;
}

std::vector<FrequencyResult> results_by_frequency(const FrequencyFits& all, const CriterionTilt& least, const Criterion& equal,
                                                  double recommended_deg) {
  std::vector<FrequencyResult> results;
  const auto add = [&](double frequency_hz, const CriterionTilt& least_there, const Criterion& equal_there, const TiltFit& tilt) {
    const LeakLevels levels = leak_levels(recommended_deg, account_of_answer(tilt, least_there));
    results.push_back({frequency_hz, equal_there.tilt_deg, equal_there.u_deg, least_there.tilt_deg, least_there.u_deg,
                       levels.right_into_left.db, levels.left_into_right.db});
  };
  for (std::size_t k = 0; k < all.fits.size(); ++k) {
    const JointFit& at = all.fits[k];
    if (k == all.answered) {
      add(at.observations.frequency_hz, least, equal, at.tilt);
      continue;
    }
    const auto tilt = at.tilt.accounts.empty() ? moved_tilt(all, least, at) : at.tilt;
    if (!tilt) continue;
    const auto least_there = criterion_tilt(CriterionKind::kLeast, *tilt);
    if (least_there) add(at.observations.frequency_hz, *least_there, judged(CriterionKind::kEqual, *tilt).told, *tilt);
  }
  return results;
}

}  // namespace evenwall::internal::solve
