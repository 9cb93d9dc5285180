// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/choice.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "solve/band_constants.hpp"
#include "solve/curves.hpp"
#include "solve/method_constants.hpp"
#include "solve/uncertainty.hpp"

namespace evenwall::internal::solve {
namespace {

bool is_moved(const Choice& choice) { return choice.moved_deg != 0 || choice.u_moved_deg != 0; }

Choice least_choice(const CriterionTilt& least, std::string why) {
  return {Basis::kLeastCrosstalk, CriterionKind::kLeast, least, std::move(why)};
}

/// Least crosstalk, moved by a stated difference.
CriterionTilt moved_least(const CriterionTilt& least, double by_deg, double u_by_deg) {
  Choice choice;
  choice.moved_deg = by_deg;
  choice.u_moved_deg = u_by_deg;
  CriterionTilt tilt = least;
  move_to_choice(choice, tilt);
  return tilt;
}

/// The part of the way from least to equal crosstalk that is recommended.
Choice between_choice(const Judged& equal, const CriterionTilt& least, const Share& share, std::string why) {
  Choice choice = least_choice(
      least, fmt::format("between least and equal crosstalk, {:.0f} % of the way to equal. Equal crosstalk {}", 100 * share.value, why));
  choice.basis = Basis::kBetween;
  choice.moved_deg = share.value * (equal.tilt->tilt_deg - least.tilt_deg);
  choice.u_moved_deg = share.slope * equal.u_offset_deg;
  choice.tilt = moved_least(least, choice.moved_deg, choice.u_moved_deg);
  choice.towards_equal = share.value;
  choice.towards_band = 0;
  return choice;
}

/// By how much the total power is above the least one, as a share of it.
double excess(double cost_db) { return std::pow(10.0, cost_db / 10) - 1; }

/// Equal crosstalk if it is well determined and costs little, otherwise least crosstalk, and an azimuth between them where that is in
/// doubt: the recommendation then does not jump between inputs that hardly differ.
Choice by_cost(const Judged& equal, const CriterionTilt& least, const TiltAccount& account) {
  if (!equal.tilt) return least_choice(least, "least crosstalk. Equal crosstalk is not used: " + equal.told.why.value_or(""));
  const double cost_db = std::max(0.0, rms_crosstalk_db(equal.tilt->tilt_deg, account) - rms_crosstalk_db(least.tilt_deg, account));
  // The excess grows with the square of the distance.
  const Share of_cost = cost_db > kEqualMayCost_db ? fading(std::sqrt(excess(kEqualMayCost_db) / excess(cost_db)), 1) : Share{1, 1};
  const Share share = of_cost.value < equal.share.value ? of_cost : equal.share;
  if (share.value >= 1) {
    return {
        Basis::kEqualCrosstalk, CriterionKind::kEqual, *equal.tilt,
        fmt::format("equal crosstalk. Both channels have the same crosstalk, and the total is {:.2f} dB above the least total", cost_db)};
  }
  std::string why = of_cost.value < equal.share.value
                        ? fmt::format("would raise the total crosstalk by {:.1f} dB, and the limit for its full share is {:.0f} dB",
                                      cost_db, kEqualMayCost_db)
                        : fmt::format("is known to {:.2f}° only (95 %, from least crosstalk)", coverage_factor95(0) * equal.u_offset_deg);
  if (share.value > 0) return between_choice(equal, least, share, std::move(why));
  return least_choice(least, "least crosstalk. Equal crosstalk " + why);
}

Choice band_choice(const CriterionTilts& candidates, std::string why) {
  const BandRoot& root = *candidates.band_least;
  return {Basis::kBandLeast, CriterionKind::kLeast,    band_tilt(root, *candidates.band, candidates.least),
          std::move(why),    degrees(root.offset_rad), u_from_single_deg(root, *candidates.band)};
}

/// The tilt of a choice from least crosstalk at the session's frequency, radians.
double from_single_rad(const CriterionTilts& candidates, const Choice& choice) {
  return radians(choice.tilt.tilt_deg - candidates.least.tilt_deg);
}

/// By how much a choice raises the band's total above its least, dB. Requires: a band.
double band_cost_db(const CriterionTilts& candidates, const Choice& choice) {
  return band_total_db(from_single_rad(candidates, choice), *candidates.band) -
         band_total_db(candidates.band_least->offset_rad, *candidates.band);
}

/// 1 if the band's optimum differs from this choice by more than chance, and by so much that it can be heard and set; 0 if not; between
/// them where that is in doubt.
double share_of_band(const CriterionTilts& candidates, const Choice& choice, double tolerance_deg) {
  if (!candidates.band_least) return 0;
  const BandRoot& root = *candidates.band_least;
  const double apart_deg = std::abs(degrees(root.offset_rad - from_single_rad(candidates, choice)));
  const double least_apart_deg = std::max(kBandOver_u * u_from_single_deg(root, *candidates.band), tolerance_deg);
  // The cost grows with the square of the distance.
  const double by_cost = std::sqrt(std::max(0.0, band_cost_db(candidates, choice)) / kChoiceMatters_db);
  return std::clamp(std::min(apart_deg / least_apart_deg, by_cost) - 1, 0.0, 1.0);
}

/// The choice at the session's frequency, moved towards the band's optimum by a share below 1.
Choice towards_band(const CriterionTilts& candidates, const Choice& single, double share) {
  const BandRoot& root = *candidates.band_least;
  const double u_equal_deg = single.basis == Basis::kEqualCrosstalk ? candidates.equal.u_offset_deg : single.u_moved_deg;
  Choice choice = least_choice(candidates.least, "");
  choice.basis = Basis::kBetween;
  choice.moved_deg = (1 - share) * degrees(from_single_rad(candidates, single)) + share * degrees(root.offset_rad);
  // The distance from the single optimum is a · (a/a1 − 1), which changes by (1 + 2 share) per change of a.
  choice.u_moved_deg = std::hypot((1 - share) * u_equal_deg, (1 + 2 * share) * u_from_single_deg(root, *candidates.band));
  choice.tilt = moved_least(candidates.least, choice.moved_deg, choice.u_moved_deg);
  choice.towards_equal = single.basis == Basis::kEqualCrosstalk ? 1.0 : single.towards_equal.value_or(0);
  choice.towards_band = share;
  const std::string from = single.basis == Basis::kBetween ? fmt::format("an azimuth {:.0f} % of the way from least to equal crosstalk",
                                                                         100 * single.towards_equal.value_or(0))
                                                           : std::string("the optimum");
  choice.why = fmt::format(
      "{:.0f} % of the way from {} at the session's frequency alone ({:+.3f}°) to least crosstalk over the band "
      "({:+.3f}°), which would lower the total over the band by {:.1f} dB",
      100 * share, from, single.tilt.tilt_deg, candidates.least.tilt_deg + degrees(root.offset_rad), band_cost_db(candidates, single));
  return choice;
}

}  // namespace

Judged judged(CriterionKind kind, const TiltFit& fit) {
  Judged j;
  const Determination d = determination(kind, fit);
  if (d.determined) j.tilt = criterion_tilt(kind, fit);
  j.share = d.share;
  j.u_offset_deg = d.u_offset_deg;
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

Choice choose(const CriterionTilts& candidates, const std::optional<Aim>& aim, double tolerance_deg, const TiltAccount& account) {
  std::string not_met;
  if (aim == Aim::kLeast) return least_choice(candidates.least, "least crosstalk, as you asked");
  if (aim == Aim::kEqual) {
    if (candidates.equal.tilt)
      return {Basis::kEqualCrosstalk, CriterionKind::kEqual, *candidates.equal.tilt, "equal crosstalk, as you asked"};
    not_met = "You asked for equal crosstalk, and " + candidates.equal.told.why.value_or("it cannot be determined");
  }
  if (aim == Aim::kPhase) {
    if (candidates.phase.tilt) return {Basis::kPhaseMatch, CriterionKind::kPhase, *candidates.phase.tilt, "phase match, as you asked"};
    not_met = "You asked for phase match, and " + candidates.phase.told.why.value_or("it cannot be determined");
  }
  if (aim == Aim::kBand) {
    if (candidates.band_least) return band_choice(candidates, "least crosstalk over the band, as you asked");
    not_met = "You asked for the optimum over the band, and the frequencies that were measured with phases span less than an octave";
  }
  Choice choice = by_cost(candidates.equal, candidates.least, account);
  const double share = share_of_band(candidates, choice, tolerance_deg);
  if (share >= 1) {
    choice =
        band_choice(candidates, fmt::format("least crosstalk over the band. The optimum at the session's frequency alone ({:+.3f}°) would "
                                            "raise the total crosstalk over the band by {:.1f} dB",
                                            choice.tilt.tilt_deg, band_cost_db(candidates, choice)));
  } else if (share > 0) {
    choice = towards_band(candidates, choice, share);
  }
  if (!not_met.empty()) choice.why += ". " + not_met;
  choice.not_met = std::move(not_met);
  return choice;
}

std::optional<CriterionSetting> setting_of(const Choice& choice, const TiltFit& fit) {
  auto setting = criterion_setting(choice.kind, fit);
  const double scale = fit.likeliest().scale;
  if (!setting || !is_moved(choice) || scale == 0) return setting;
  const double before = setting->u, moved = choice.moved_deg / scale;
  setting->u = std::hypot(before, choice.u_moved_deg / scale);
  const double share = before > 0 ? setting->u / before : 1.0;
  for (double& end : setting->interval95) end = setting->setting + moved + share * (end - setting->setting);
  setting->setting += moved;
  return setting;
}

std::vector<UncertaintyTerm> budget_of(const Choice& choice, const CriterionTilt& least, const JointFit& joint) {
  if (!is_moved(choice)) return uncertainty_budget(choice.kind, choice.tilt, joint);
  auto terms = uncertainty_budget(CriterionKind::kLeast, least, joint);
  const double more = choice.tilt.u_deg * choice.tilt.u_deg - least.u_deg * least.u_deg;
  if (more >= 0) {
    if (choice.basis == Basis::kBandLeast) {
      terms.push_back({"frequency band", std::sqrt(more), std::nullopt, false});
      return terms;
    }
    const double shared = shared_part_of_offset(CriterionKind::kEqual, choice.tilt.tilt_deg, joint);
    terms.push_back({"between criteria", std::sqrt(more * (1 - shared)), std::nullopt, false});
    terms.push_back({kSharedBetween, std::sqrt(more * shared), std::nullopt, true});
    return terms;
  }
  // Many frequencies show the tilts more sharply than one does, so each term of the signal and of the gauge has a smaller share.
  for (UncertaintyTerm& term : terms) term.u_deg *= choice.tilt.u_deg / least.u_deg;
  return terms;
}

void move_to_choice(const Choice& choice, CriterionTilt& tilt) {
  if (!is_moved(choice)) return;
  const double before = tilt.u_deg;
  tilt.u_deg = std::hypot(before, choice.u_moved_deg);
  const double share = before > 0 ? tilt.u_deg / before : 1.0;
  for (double& end : tilt.interval95_deg) end = tilt.tilt_deg + choice.moved_deg + share * (end - tilt.tilt_deg);
  tilt.tilt_deg += choice.moved_deg;
}

}  // namespace evenwall::internal::solve
