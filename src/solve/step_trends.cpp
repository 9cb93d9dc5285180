// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/step_trends.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "base/recording_name.hpp"
#include "numeric/distributions.hpp"
#include "numeric/straight_line.hpp"
#include "numeric/triangular_fit.hpp"
#include "solve/method_constants.hpp"
#include "solve/recordings.hpp"

namespace evenwall::internal::solve {
namespace {

double span_of(const std::vector<double>& x) {
  const auto [low, high] = std::minmax_element(x.begin(), x.end());
  return *high - *low;
}

/// Balance by levels minus the response's part of it, dB, and the standard uncertainty of that part per degree.
struct BalanceRest {
  std::vector<double> tilt_deg, db;
  double u_model_db_per_deg = 0;
};

BalanceRest balance_rest(const JointFit& joint) {
  const auto& fitted = joint.observations.fitted;
  const auto with_level = std::count_if(fitted.begin(), fitted.end(), [](const Observation& o) { return o.ln_level_ratio.has_value(); });
  if (with_level < kLeastOfTrend) return {};  // fewer steps, fitted without levels, also have fewer data than unknowns
  // The levels must not be tested against themselves: the response and the recordings' own gains are fitted without them.
  std::vector<Observation> without = joint.observations.fitted;
  for (Observation& o : without) o.ln_level_ratio.reset();
  const SignalFit fit = joint.sizes_only ? joint.signal : fit_signal(without, joint.gains, &joint.signal);
  BalanceRest rest;
  for (std::size_t i = 0; i < without.size(); ++i) {
    const OptionalNumber level = ln_level_ratio_straight(joint.observations.fitted[i], joint.signal.common);
    if (!level) continue;
    const double psi = fit.psi_rad[static_cast<Eigen::Index>(i)];
    const Response r = response_at(psi, fit.shape());
    rest.tilt_deg.push_back(degrees(psi));
    rest.db.push_back((*level - fit.own_gain(i).real() - std::log(std::abs(r.left_from_left.value / r.right_from_right.value))) *
                      kDbPerNeper);
  }
  const Eigen::Index bend = fit.psi_rad.size() + kBend;
  rest.u_model_db_per_deg = 2 * std::sqrt(fit.covariance(bend, bend)) * kDbPerNeper * kRadPerDeg;
  return rest;
}

void warn_of_balance(const JointFit& joint, Warnings& warnings) {
  const BalanceRest rest = balance_rest(joint);
  const auto line = numeric::straight_line(rest.tilt_deg, rest.db, kLevelRepeats_neper * kDbPerNeper);
  if (!line) return;
  const double u = std::hypot(line->u_slope, rest.u_model_db_per_deg);
  const double moved_db = line->slope * span_of(rest.tilt_deg);
  if (std::abs(line->slope) < kTrendOver_u * u || std::abs(moved_db) < kBalanceWorthTelling_db) return;
  warnings.push_back(
      {WarningCode::kBalanceMovesWithTilt,
       fmt::format("the channel balance changes by {:+.2f} dB over the tilts, apart from the change that geometry explains. The "
                   "stylus may lose contact with a groove wall. Check the tracking force and the "
                   "anti-skating within the maker's limits, and check the stylus.",
                   moved_db)});
}

void warn_of_distortion(const Session& session, const JointFit& joint, Warnings& warnings) {
  for (const Driven driven : {Driven::kLeft, Driven::kRight}) {
    std::vector<double> tilt_deg, percent;
    for (std::size_t i = 0; i < joint.observations.fitted.size(); ++i) {
      const Step& step = session.steps[joint.observations.fitted[i].step];
      for (const Passage& p : step.measurement()->passages) {
        const bool swapped =
            (step.log.leads_swapped != joint.wiring.channels_swapped.value_or(false)) != joint.swapped(joint.observations.fitted[i].step);
        const bool wanted = swapped ? p.driven != driven && p.driven != Driven::kBoth : p.driven == driven;
        if (!wanted || !p.distortion_percent || !(*p.distortion_percent >= 0 && *p.distortion_percent <= kMostDistortion_percent)) continue;
        tilt_deg.push_back(degrees(joint.signal.psi_rad[static_cast<Eigen::Index>(i)]));
        percent.push_back(*p.distortion_percent);
      }
    }
    const auto line = numeric::straight_line(tilt_deg, percent, kDistortionRepeats);
    if (!line) continue;
    const double moved = line->slope * span_of(tilt_deg);
    if (std::abs(line->slope) < kTrendOver_u * line->u_slope || std::abs(moved) < kDistortionWorthTelling) continue;
    warnings.push_back(
        {WarningCode::kDistortionMovesWithTilt,
         fmt::format("the distortion of the {} channel changes by {:+.1f} percentage points over the tilts. The stylus may lose contact "
                     "with that groove wall. Check the tracking force and the anti-skating "
                     "within the maker's limits, and check the stylus.",
                     driven == Driven::kLeft ? "left" : "right", moved)});
  }
}

/// Tilt by the signal minus tilt by the fitted log, degrees, of every fitted step with a logged tilt.
std::vector<double> setting_errors_deg(const JointFit& joint) {
  const TiltAccount& account = joint.tilt.likeliest();
  std::vector<double> errors;
  for (std::size_t i = 0; i < steps_with_tilt(joint.observations.fitted); ++i) {
    errors.push_back(degrees(account.tilt_rad(joint.signal.psi_rad[static_cast<Eigen::Index>(i)])) -
                     account.scale * joint.observations.fitted[i].logged);
  }
  return errors;
}

double signal_u_deg(const JointFit& joint) {
  const Eigen::Index n = joint.signal.psi_rad.size();
  return degrees(std::sqrt(joint.signal.covariance.variances().head(n).mean()));
}

void warn_of_drift(const Session& session, const JointFit& joint, const std::vector<double>& errors_deg, Warnings& warnings) {
  std::vector<double> sequence, error;
  for (std::size_t i = 0; i < errors_deg.size(); ++i) {
    const auto& order = session.steps[joint.observations.fitted[i].step].log.sequence;
    if (!order) continue;
    sequence.push_back(*order);
    error.push_back(errors_deg[i]);
  }
  const auto line = numeric::straight_line(sequence, error, signal_u_deg(joint));
  if (!line || sequence.size() < 4) return;
  const double moved_deg = line->slope * span_of(sequence);
  if (std::abs(line->slope) < kTrendOver_u * line->u_slope || std::abs(moved_deg) < kSettingWorthTelling_deg) return;
  warnings.push_back(
      {WarningCode::kDrift,
       fmt::format("the settings drift by {:+.3f}° from the first recording to the last. Let the rig settle, then repeat the first tilt.",
                   moved_deg)});
}

void warn_of_backlash(const Session& session, const JointFit& joint, const std::vector<double>& errors_deg, Warnings& warnings) {
  std::map<std::string, std::vector<double>> by_approach;
  for (std::size_t i = 0; i < errors_deg.size(); ++i) {
    if (const auto& way = session.steps[joint.observations.fitted[i].step].log.approach) by_approach[*way].push_back(errors_deg[i]);
  }
  const auto& up = by_approach["up"];
  const auto& down = by_approach["down"];
  if (up.size() < 2 || down.size() < 2) return;
  const auto moments = [](const std::vector<double>& v) {
    double mean = 0, squares = 0;
    for (const double x : v) mean += x / static_cast<double>(v.size());
    for (const double x : v) squares += (x - mean) * (x - mean);
    return std::pair(mean, squares);
  };
  const auto [up_mean, up_squares] = moments(up);
  const auto [down_mean, down_squares] = moments(down);
  const auto n_up = static_cast<double>(up.size());
  const auto n_down = static_cast<double>(down.size());
  const double scatter = std::max(std::sqrt((up_squares + down_squares) / (n_up + n_down - 2)), signal_u_deg(joint));
  const double gap_deg = up_mean - down_mean;
  const double u = scatter * std::sqrt(1 / n_up + 1 / n_down);
  if (std::abs(gap_deg) < kTrendOver_u * u || std::abs(gap_deg) < kSettingWorthTelling_deg) return;
  warnings.push_back({WarningCode::kBacklash, fmt::format("at the same setting, tilts reached from below and from above differ by {:+.3f}° "
                                                          "(backlash). Reach every tilt from the same side.",
                                                          gap_deg)});
}

/// Lack of fit: compares the settings' means about the line with the repeats about their means.
struct RepeatSpread {
  double settings = 0, repeats = 0;      ///< counts: distinct settings, captures beyond the first of each
  double within = 0, between = 0;        ///< sums of squares, degrees²
  std::vector<double> logged, mean_deg;  ///< of each setting
};

RepeatSpread repeat_spread(const JointFit& joint, const std::vector<double>& errors_deg) {
  std::map<double, std::vector<double>> by_setting;
  for (std::size_t i = 0; i < errors_deg.size(); ++i) by_setting[joint.observations.fitted[i].logged].push_back(errors_deg[i]);
  RepeatSpread spread;
  spread.settings = static_cast<double>(by_setting.size());
  spread.repeats = static_cast<double>(errors_deg.size()) - spread.settings;
  for (const auto& [logged, errors] : by_setting) {
    double mean = 0;
    for (const double e : errors) mean += e / static_cast<double>(errors.size());
    for (const double e : errors) spread.within += (e - mean) * (e - mean);
    spread.between += static_cast<double>(errors.size()) * mean * mean;
    spread.logged.push_back(logged);
    spread.mean_deg.push_back(mean);
  }
  return spread;
}

/// Two-sided p-value of the square term of a parabola fitted to the settings' means. 1 for three settings, which a parabola always meets.
double parabola_p_value(const RepeatSpread& spread) {
  const auto n = static_cast<Eigen::Index>(spread.logged.size());
  if (n < 4) return 1;
  const Eigen::Map<const Eigen::ArrayXd> logged(spread.logged.data(), n);
  const Eigen::ArrayXd along = (logged - logged.mean()) / (logged - logged.mean()).abs().maxCoeff();
  numeric::TriangularFit fit(3);
  for (Eigen::Index i = 0; i < n; ++i) {
    const double row[] = {1, along[i], along[i] * along[i]};
    fit.add(row, spread.mean_deg[static_cast<std::size_t>(i)]);
  }
  fit.finish();
  const auto nu = static_cast<double>(n - 3);
  const double u = fit.inverse_root().row(2).norm() * std::sqrt(fit.sum_of_squares() / nu);
  const double square = std::abs(fit.coefficients()[2]);
  return u > 0 ? 2 * numeric::student_cdf(-square / u, nu) : (square > 0 ? 0.0 : 1.0);
}

/// Settings that repeat well may still each have the gauge's error. Only a curve, or more than a gauge's usual error, is a bend.
void warn_of_bend(const JointFit& joint, const std::vector<double>& errors_deg, Warnings& warnings) {
  const auto repeats = repeatability_of(joint);
  if (!repeats || !repeats->lack_of_fit_p) return;
  const RepeatSpread spread = repeat_spread(joint, errors_deg);
  if (*repeats->lack_of_fit_p > kBentBelow) return;
  double squares = 0;
  for (const double mean : spread.mean_deg) squares += mean * mean;
  const double off_deg = std::sqrt(squares / (spread.settings - 2));
  if (off_deg < kBentOver_u * joint.gauge.u_deg.value_or(kAssumedGauge_deg) && parabola_p_value(spread) > kBentBelow) return;
  if (std::sqrt(spread.between / static_cast<double>(errors_deg.size())) < kSettingWorthTelling_deg) return;
  warnings.push_back(
      {WarningCode::kBentResponse,
       fmt::format(
           "repeated settings agree to {:.3f}°, but the settings do not lie on one straight line (p = {:.1e}). The marks of the gauge "
           "are uneven, or the stylus loses contact with a wall. Check the gauge and the stylus.",
           repeats->u_deg, *repeats->lack_of_fit_p)});
}

bool holds(const Warnings& warnings, WarningCode code) {
  return std::any_of(warnings.begin(), warnings.end(), [&](const Warning& w) { return w.code == code; });
}

/// Warns of relations between the settings' errors that the fit found and allows for.
void warn_of_structure(const Session& session, const JointFit& joint, Warnings& warnings) {
  const auto surely = [&](GaugeStructure structure) { return joint.tilt.probability_of(structure) > kNamedWrong; };
  if (surely(GaugeStructure::kDrift) && !holds(warnings, WarningCode::kDrift)) {
    warnings.push_back({WarningCode::kDrift,
                        "the settings drift in the order of capture. The answer allows for it. Let the rig settle, then repeat the first "
                        "tilt."});
  }
  if (surely(GaugeStructure::kBacklash) && !holds(warnings, WarningCode::kBacklash)) {
    warnings.push_back(
        {WarningCode::kBacklash,
         "tilts reached from below and from above differ (backlash). The answer allows for it. Reach every tilt from the same side."});
  }
  const double walk = joint.tilt.probability_of(GaugeStructure::kWalk) + joint.tilt.probability_of(GaugeStructure::kWalkAndSettings);
  if (walk > kNamedWrong && joint.gauge.in_degrees) {
    warnings.push_back(
        {WarningCode::kErrorsAddUp,
         "the errors of the settings add up from move to move. The answer allows for it. Read each setting from the zero of the "
         "gauge, or log counted moves as tilt_units."});
  }
  const auto exchange = joint.tilt.exchange();
  if (!exchange || !(exchange->probability > kPossiblyWrong)) return;
  const auto name = [&](std::size_t row) { return base::recording_name(session.steps[joint.observations.fitted[row].step].log); };
  warnings.push_back({WarningCode::kRowsExchanged,
                      fmt::format("{} and {} {} the tilt that is logged for the other one. The answer allows for it. Correct the log.",
                                  name(exchange->observations[0]), name(exchange->observations[1]),
                                  exchange->probability > kNamedWrong ? "each have" : "possibly have")});
}

}  // namespace

Warnings contact_warnings(const Session& session, const JointFit& joint) {
  Warnings warnings;
  warn_of_balance(joint, warnings);
  warn_of_own_gains(joint, warnings);
  warn_of_distortion(session, joint, warnings);
  return warnings;
}

std::optional<Repeatability> repeatability_of(const JointFit& joint) {
  if (joint.sizes_only || joint.counts_from) return std::nullopt;  // a step's own tilt by magnitudes is too uncertain
  const RepeatSpread spread = repeat_spread(joint, setting_errors_deg(joint));
  if (spread.repeats < 1) return std::nullopt;
  // The repeatability is not below the uncertainty of the signal itself.
  const double least_deg = signal_u_deg(joint);
  const double pure = std::max(spread.within / spread.repeats, least_deg * least_deg);
  Repeatability repeatability{std::sqrt(pure), spread.repeats, std::nullopt};
  if (spread.settings >= 3) {
    const double nu = spread.settings - 2;
    repeatability.lack_of_fit_p = numeric::fisher_f_upper(spread.between / nu / pure, nu, spread.repeats);
  }
  return repeatability;
}

Warnings repeat_warnings(const Session& session, const JointFit& joint) {
  Warnings warnings;
  if (joint.sizes_only || joint.counts_from) return warnings;
  const auto errors_deg = setting_errors_deg(joint);
  warn_of_drift(session, joint, errors_deg, warnings);
  warn_of_backlash(session, joint, errors_deg, warnings);
  warn_of_bend(joint, errors_deg, warnings);
  warn_of_structure(session, joint, warnings);
  return warnings;
}

}  // namespace evenwall::internal::solve
