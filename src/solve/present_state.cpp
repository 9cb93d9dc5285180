// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/present_state.hpp"

#include <algorithm>
#include <cmath>

#include "solve/advice.hpp"
#include "solve/electronics.hpp"
#include "solve/magnitude_fit.hpp"
#include "solve/method_constants.hpp"
#include "solve/recording_gains.hpp"
#include "solve/recordings.hpp"
#include "solve/signal_scale.hpp"
#include "solve/slope_doubt.hpp"
#include "solve/turn_fit.hpp"

namespace evenwall::internal::solve {
namespace {

std::optional<std::size_t> row_of(std::size_t step, const JointFit& joint) {
  const auto& fitted = joint.observations.fitted;
  const auto at = std::find_if(fitted.begin(), fitted.end(), [&](const Observation& o) { return o.step == step; });
  return at == fitted.end() ? std::nullopt : std::optional(static_cast<std::size_t>(at - fitted.begin()));
}

/// The fit of the crosstalk that contains this step, and the step's row in it. A verifying recording is not in the session's fit, so that
/// the fit can be held against it; here it is added.
struct FitWithState {
  SignalFit signal;
  std::size_t row;
  Observation state;
};

std::optional<FitWithState> fit_with(std::size_t step, const Session& session, const JointFit& joint) {
  if (const auto row = row_of(step, joint)) return FitWithState{joint.signal, *row, joint.observations.fitted[*row]};
  const auto outside = observation_outside(session, step, joint);
  if (!outside) return std::nullopt;
  auto observations = joint.observations.fitted;
  observations.push_back(*outside);
  const std::size_t row = observations.size() - 1;
  if (joint.sizes_only) return FitWithState{magnitude_signal(observations, joint.gains, joint.gauge), row, *outside};
  // Only this recording may have another gain or delay, so the session's own spread does not decide.
  GainPriors gains = joint.gains;
  gains.spread = recording_spread(observations, gains).spread;
  return FitWithState{fit_signal(observations, gains), row, *outside};
}

/// ln of both magnitudes, as a meter reads them.
Eigen::Vector2d ln_magnitudes(double psi_rad, const Eigen::VectorXd& common) {
  const PredictedRatios ratios = predicted_ratios(psi_rad, common);
  return {std::log(std::abs(ratios.right_into_left)), std::log(std::abs(ratios.left_into_right))};
}

/// The tilt of a meter's reading is that at the fitted common unknowns. Adds the part of its uncertainty that comes from these unknowns.
void add_common_doubt(const Observation& reading, TiltAccount& account) {
  const double psi = -account.least_rad;
  const auto weight = [](Complex ratio, const Eigen::Matrix2d& covariance) { return std::norm(ratio) / (0.5 * covariance.trace()); };
  const Eigen::Vector2d weights{weight(reading.right_into_left, reading.right_into_left_covariance),
                                weight(reading.left_into_right, reading.left_into_right_covariance)};
  const Eigen::Vector2d by_psi =
      (ln_magnitudes(psi + kCurveStep_rad, account.common) - ln_magnitudes(psi - kCurveStep_rad, account.common)) / (2 * kCurveStep_rad);
  const double information = by_psi.cwiseProduct(weights).dot(by_psi);
  if (!(information > 0)) return;
  Eigen::VectorXd slope = Eigen::VectorXd::Zero(kCommonSize);
  for (Eigen::Index k = 0; k < kCommonSize; ++k) {
    Eigen::VectorXd more = account.common, less = account.common;
    more[k] += kCurveStep_rad;
    less[k] -= kCurveStep_rad;
    const Eigen::Vector2d by_common = (ln_magnitudes(psi, more) - ln_magnitudes(psi, less)) / (2 * kCurveStep_rad);
    slope[k] = -by_psi.cwiseProduct(weights).dot(by_common) / information;
  }
  const Eigen::VectorXd with_common = account.signal_covariance * slope;
  account.covariance(0, 0) += slope.dot(with_common);
  account.covariance.block(0, 2, 1, kCommonSize) -= with_common.transpose();
  account.covariance.block(2, 0, kCommonSize, 1) -= with_common;
}

/// Accounts in which tilts count from the state itself, and the log only shows the scale of the signal.
std::vector<TiltAccount> accounts_from(const FitWithState& fit, const JointFit& joint) {
  TiltAccount account = turn_account(fit.signal, fit.row, 0);
  if (joint.sizes_only) add_common_doubt(fit.state, account);
  if (joint.electronics) add_offset_doubt(electronics_doubt(*joint.electronics), account);
  add_offset_doubt(groove_doubt(joint.observations.fitted), account);
  add_offset_doubt(joint.third_octave, account);
  add_slope_doubt(joint.slope_u, account);
  std::vector<TiltAccount> accounts{account};
  std::vector<SignalScale> scales = learnt_scales(joint.tilt.accounts);
  for (SignalScale& scale : scales) scale.u = std::hypot(scale.u, joint.u_turn_scale);
  add_signal_scales(scales, accounts);
  const double record_rad = radians(joint.gauge.u_record_deg);
  for (TiltAccount& one : accounts) {
    one.covariance(0, 0) += record_rad * record_rad;
    one.known_covariance(0, 0) += record_rad * record_rad;
  }
  return accounts;
}

void move(CriterionTilt& tilt, double by) {
  tilt.tilt_deg += by;
  for (double& end : tilt.interval95_deg) end += by;
}

/// Variance of φ0 − k·x minus that of φ0 over all accounts, degrees²: the scale of the log counts on the whole way. setting_deg: x.
double variance_of_way_deg2(double setting_deg, const TiltFit& fit) {
  const double x = radians(setting_deg);
  double scale = 0, least = 0;
  for (const TiltAccount& a : fit.accounts) scale += a.probability * a.scale, least += a.probability * a.least_rad;
  double variance = 0;
  for (const TiltAccount& a : fit.accounts) {
    const double off = a.scale - scale;
    variance += a.probability *
                (x * x * (std::max(0.0, a.covariance(1, 1)) + off * off) - 2 * x * (a.covariance(0, 1) + off * (a.least_rad - least)));
  }
  return variance / (kRadPerDeg * kRadPerDeg);
}

/// The turn from a stated azimuth: the recommended azimuth with its uncertainty, the gauge's included. setting_deg: the azimuth as the log
/// would state it; 0 if the log has its own unit.
Now from_stated(double stated_deg, double setting_deg, const TiltFit& fit, const Solution& solution) {
  const Recommended& r = solution.recommended;
  Now now;
  now.from = TurnFrom::kStated;
  now.turn_deg = r.tilt_deg - stated_deg;
  now.u_deg = std::sqrt(r.u_deg * r.u_deg + std::max(0.0, variance_of_way_deg2(setting_deg, fit)));
  const double share = r.u_deg > 0 ? now.u_deg / r.u_deg : 1.0;
  for (std::size_t k = 0; k < 2; ++k) now.interval95_deg[k] = now.turn_deg + share * (r.interval95_deg[k] - r.tilt_deg);
  return now;
}

void set_hand(Now& now, const JointFit& joint, const Solution& solution) {
  const Shim shim = shim_of(now.turn_deg, 0, joint.sense, solution.session, {});
  now.height_mm = shim.height_mm;
  now.place_shim_at = shim.place_shim_at;
  if (std::abs(now.turn_deg) < kNoTurn_deg) {
    now.direction = TurnDirection::kNone;
  } else if (joint.sense != Sense::kUndecided) {
    now.direction = now.turn_deg > 0 ? TurnDirection::kClockwise : TurnDirection::kAnticlockwise;
  }
  if (joint.counts_from && now.interval95_deg[0] <= 0 && now.interval95_deg[1] >= 0) {
    // Without a log, nothing but the turn itself shows the side.
    now.direction.reset();
    now.place_shim_at.reset();
  }
  const TiltResponse& per_unit = solution.tilt_response;
  if (joint.observations.in_degrees || joint.single_unit_step || std::abs(per_unit.degrees_per_unit) < kLeastDegreesPerUnit) return;
  now.turn_units = now.turn_deg / per_unit.degrees_per_unit;
  now.u_turn_units = std::hypot(now.u_deg, *now.turn_units * per_unit.u_degrees_per_unit) / std::abs(per_unit.degrees_per_unit);
}

}  // namespace

double stated_start_deg(double stated_deg, const JointFit& joint) {
  return joint.observations.in_degrees && !joint.single_unit_step ? joint.tilt.likeliest().scale * stated_deg : stated_deg;
}

std::optional<PresentState> present_state_of(const Session& session, const JointFit& joint) {
  const auto& excluded = joint.observations.set_aside;
  std::vector<std::size_t> steps;
  for (std::size_t s = 0; s < session.steps.size(); ++s) {
    const StepUse use = session.steps[s].log.use;
    const bool counts = use == StepUse::kYes ? row_of(s, joint).has_value() : use == StepUse::kVerify;
    if (!counts || !session.steps[s].measurement() || std::find(excluded.begin(), excluded.end(), s) != excluded.end()) continue;
    if (use == StepUse::kVerify && !observation_outside(session, s, joint)) continue;
    steps.push_back(s);
  }
  if (steps.empty()) return std::nullopt;
  const auto sequence = [&](std::size_t s) { return session.steps[s].log.sequence; };
  if (std::all_of(steps.begin(), steps.end(), [&](std::size_t s) { return sequence(s).has_value(); })) {
    std::stable_sort(steps.begin(), steps.end(), [&](std::size_t a, std::size_t b) { return *sequence(a) < *sequence(b); });
  }
  const std::size_t last = steps.back();
  return PresentState{last, session.steps[last].log.use == StepUse::kVerify ? TurnFrom::kVerify : TurnFrom::kLast};
}

std::optional<CriterionTilt> turn_by_crosstalk(const PresentState& state, CriterionKind kind, const Session& session, const JointFit& joint,
                                               Warnings& warnings) {
  const auto fit = fit_with(state.step, session, joint);
  if (!fit || !std::isfinite(fit->signal.psi_rad[static_cast<Eigen::Index>(fit->row)])) return std::nullopt;
  TiltFit from_here;
  from_here.accounts = accounts_from(*fit, joint);
  from_here.settings = joint.tilt.settings;
  const auto turn = criterion_tilt(kind, from_here);
  // No cartridge is turned so far. The crosstalk of that recording is not a tilt.
  if (!turn || std::abs(turn->tilt_deg) > kMostTilt_deg) return std::nullopt;
  if (joint.signal.own_ln_gain.size() == 0 && fit->signal.own_ln_gain.size() > 0) {
    JointFit with = joint;
    with.signal = fit->signal;
    warn_of_own_gains(with, warnings);
  }
  return turn;
}

std::optional<Now> now_of(const Choice& choice, const Session& session, const JointFit& joint, const Solution& solution,
                          Warnings& warnings) {
  std::optional<Now> now;
  if (solution.options.from_tilt_deg) {
    const double stated_deg = *solution.options.from_tilt_deg;
    const bool by_log = joint.observations.in_degrees && !joint.single_unit_step && !joint.counts_from;
    now = from_stated(stated_start_deg(stated_deg, joint), by_log ? stated_deg : 0.0, joint.tilt, solution);
  } else if (const auto state = present_state_of(session, joint)) {
    // Without a log all tilts count from one recording. If that one shows the present state, the turn is the answer itself.
    const bool is_answer = joint.counts_from && joint.observations.fitted[*joint.counts_from].step == state->step;
    auto turn = is_answer ? std::optional(choice.tilt) : turn_by_crosstalk(*state, choice.kind, session, joint, warnings);
    if (!turn) return std::nullopt;
    if (!is_answer) move_to_choice(choice, *turn);
    if (solution.options.record_correction) move(*turn, -solution.options.record_correction->cut_error_deg);
    const LogEntry& log = session.steps[state->step].log;
    now = Now{log.capture, state->from, turn->tilt_deg, turn->u_deg, turn->interval95_deg, {}, {}, {}, {}, {}, log.from_s, log.to_s};
  }
  if (now) set_hand(*now, joint, solution);
  return now;
}

SetTo set_to_of(const JointFit& joint, const Solution& solution) {
  const Recommended& r = solution.recommended;
  SetTo set{r.tilt_deg, r.u_deg, r.interval95_deg, {}, {}, {}};
  set.from_capture = r.from_capture;
  if (!joint.observations.in_degrees) {
    set.tilt_units = r.tilt_units;
    set.u_tilt_units = r.u_units;
    set.interval95_units = r.interval95_units;
  } else if (r.tilt_units && r.u_units && r.interval95_units) {
    set = {*r.tilt_units, *r.u_units, *r.interval95_units, {}, {}, {}};
  }
  return set;
}

}  // namespace evenwall::internal::solve
