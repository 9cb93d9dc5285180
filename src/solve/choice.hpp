// SPDX-License-Identifier: GPL-3.0-or-later
// Chooses the criterion that the recommended azimuth meets.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/model.hpp"
#include "solve/band_optimum.hpp"
#include "solve/criteria.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

/// A criterion as it is reported, its tilt if it is determined, and how well it is.
struct Judged {
  Criterion told;
  std::optional<CriterionTilt> tilt;
  Share share{};            ///< Determination::share
  double u_offset_deg = 0;  ///< Determination::u_offset_deg
};
Judged judged(CriterionKind kind, const TiltFit& fit);

/// The recommended tilt. Over a band, or between two criteria, it is least crosstalk at the session's frequency (`kind`), moved by the
/// difference.
struct Choice {
  Basis basis = Basis::kLeastCrosstalk;
  CriterionKind kind = CriterionKind::kLeast;
  CriterionTilt tilt;
  std::string why;  ///< for people
  double moved_deg = 0;
  double u_moved_deg = 0;                          ///< standard uncertainty, by the signal alone
  OptionalNumber towards_equal{}, towards_band{};  ///< Recommended::towards_equal and towards_band
  std::string not_met{};                           ///< why the aim is not met; empty if it is met, or if nothing was asked for
};

/// The criteria among which to choose.
struct CriterionTilts {
  Judged equal;
  CriterionTilt least;
  Judged phase;
  const BandFit* band = nullptr;  ///< may be null
  std::optional<BandRoot> band_least;
};

/// `account`: that of the answer (curves.hpp). The criterion that `aim` names, if it is determined. Otherwise, or without an aim, the rule
/// of docs/method.md, "Which criterion".
Choice choose(const CriterionTilts& candidates, const std::optional<Aim>& aim, double tolerance_deg, const TiltAccount& account);

/// The number to set on the log's gauge. Returns nothing if the steps do not bound it.
std::optional<CriterionSetting> setting_of(const Choice& choice, const TiltFit& fit);

/// The uncertainty budget of the choice. A band has a term of its own, which is the band's part beyond that of the session's frequency.
std::vector<UncertaintyTerm> budget_of(const Choice& choice, const CriterionTilt& least, const JointFit& joint);

/// A turn or a tilt to least crosstalk, moved to the band's.
void move_to_choice(const Choice& choice, CriterionTilt& tilt);

}  // namespace evenwall::internal::solve
