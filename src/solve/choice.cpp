// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/choice.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "solve/curves.hpp"
#include "solve/method_constants.hpp"
#include "solve/uncertainty.hpp"

namespace evenwall::internal::solve {
namespace {

Choice least_choice(const CriterionTilt& least, std::string why) {
  return {Basis::kLeastCrosstalk, CriterionKind::kLeast, least, std::move(why)};
}

/// Equal crosstalk if it is determined and costs little, otherwise least crosstalk.
Choice by_cost(const Judged& equal, const CriterionTilt& least, const TiltAccount& account) {
  if (!equal.tilt) return least_choice(least, "least crosstalk. Equal crosstalk is not used: " + equal.told.why.value_or(""));
  const double cost_db = rms_crosstalk_db(equal.tilt->tilt_deg, account) - rms_crosstalk_db(least.tilt_deg, account);
  if (cost_db > kEqualMayCost_db) {
    return least_choice(least,
                        fmt::format("least crosstalk. Equal crosstalk would raise the total crosstalk by {:.1f} dB, and the limit is "
                                    "{:.0f} dB",
                                    cost_db, kEqualMayCost_db));
  }
  return {Basis::kEqualCrosstalk, CriterionKind::kEqual, *equal.tilt,
          fmt::format("equal crosstalk. Both channels have the same crosstalk, and the total is {:.2f} dB above the least total",
                      std::max(0.0, cost_db))};
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

/// Whether the band's optimum differs from this choice by more than chance and by so much that it can be heard and set.
bool band_matters(const CriterionTilts& candidates, const Choice& choice, double tolerance_deg) {
  if (!candidates.band_least) return false;
  const BandRoot& root = *candidates.band_least;
  const double apart_deg = std::abs(degrees(root.offset_rad - from_single_rad(candidates, choice)));
  return apart_deg > kBandOver_u * u_from_single_deg(root, *candidates.band) && apart_deg > tolerance_deg &&
         band_cost_db(candidates, choice) > kChoiceMatters_db;
}

}  // namespace

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

Choice choose(const CriterionTilts& candidates, const std::optional<Aim>& aim, double tolerance_deg, const TiltAccount& account) {
  std::string not_met;
  if (aim == Aim::kLeast) return least_choice(candidates.least, "least crosstalk, as you asked");
  if (aim == Aim::kEqual) {
    if (candidates.equal.tilt)
      return {Basis::kEqualCrosstalk, CriterionKind::kEqual, *candidates.equal.tilt, "equal crosstalk, as you asked"};
    not_met = ". You asked for equal crosstalk, and " + candidates.equal.told.why.value_or("it cannot be determined");
  }
  if (aim == Aim::kPhase) {
    if (candidates.phase.tilt) return {Basis::kPhaseMatch, CriterionKind::kPhase, *candidates.phase.tilt, "phase match, as you asked"};
    not_met = ". You asked for phase match, and " + candidates.phase.told.why.value_or("it cannot be determined");
  }
  if (aim == Aim::kBand) {
    if (candidates.band_least) return band_choice(candidates, "least crosstalk over the band, as you asked");
    not_met = ". You asked for the optimum over the band, and the frequencies that were measured with phases span less than an octave";
  }
  Choice choice = by_cost(candidates.equal, candidates.least, account);
  if (band_matters(candidates, choice, tolerance_deg)) {
    choice =
        band_choice(candidates, fmt::format("least crosstalk over the band. The optimum at the session's frequency alone ({:+.3f}°) would "
                                            "raise the total crosstalk over the band by {:.1f} dB",
                                            choice.tilt.tilt_deg, band_cost_db(candidates, choice)));
  }
  choice.why += not_met;
  return choice;
}

std::optional<CriterionSetting> setting_of(const Choice& choice, const TiltFit& fit) {
  auto setting = criterion_setting(choice.kind, fit);
  const double scale = fit.likeliest().scale;
  if (!setting || choice.basis != Basis::kBandLeast || scale == 0) return setting;
  const double before = setting->u, moved = choice.moved_deg / scale;
  setting->u = std::hypot(before, choice.u_moved_deg / scale);
  const double share = before > 0 ? setting->u / before : 1.0;
  for (double& end : setting->interval95) end = setting->setting + moved + share * (end - setting->setting);
  setting->setting += moved;
  return setting;
}

std::vector<UncertaintyTerm> budget_of(const Choice& choice, const CriterionTilt& least, const JointFit& joint) {
  if (choice.basis != Basis::kBandLeast) return uncertainty_budget(choice.kind, choice.tilt, joint);
  auto terms = uncertainty_budget(CriterionKind::kLeast, least, joint);
  const double more = choice.tilt.u_deg * choice.tilt.u_deg - least.u_deg * least.u_deg;
  if (more >= 0) {
    terms.push_back({"frequency band", std::sqrt(more), std::nullopt, false});
    return terms;
  }
  // Many frequencies show the tilts more sharply than one does, so each term of the signal and of the gauge has a smaller share.
  for (UncertaintyTerm& term : terms) term.u_deg *= choice.tilt.u_deg / least.u_deg;
  return terms;
}

void move_to_choice(const Choice& choice, CriterionTilt& tilt) {
  if (choice.moved_deg == 0 && choice.u_moved_deg == 0) return;
  const double before = tilt.u_deg;
  tilt.u_deg = std::hypot(before, choice.u_moved_deg);
  const double share = before > 0 ? tilt.u_deg / before : 1.0;
  for (double& end : tilt.interval95_deg) end = tilt.tilt_deg + choice.moved_deg + share * (end - tilt.tilt_deg);
  tilt.tilt_deg += choice.moved_deg;
}

}  // namespace evenwall::internal::solve
