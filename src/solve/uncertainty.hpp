// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the uncertainty budget of a tilt.
#pragma once

#include <vector>

#include "solve/criteria.hpp"
#include "solve/joint_fit.hpp"

namespace evenwall::internal::solve {

// Sources of the terms that no further recording of the same session reduces.
inline constexpr char kGaugeZero[] = "gauge zero";
inline constexpr char kRecord[] = "record";
inline constexpr char kElectronics[] = "electronics";
inline constexpr char kSlopes[] = "slopes of the response";
inline constexpr char kLean[] = "lean of the record";
inline constexpr char kInThirdOctave[] = "gain within the third octave";

/// A term between criteria (choice.hpp) that all recordings share.
inline constexpr char kSharedBetween[] = "between criteria, shared";

/// The part of the variance of a criterion's distance from least crosstalk that all recordings share: the electronics, the lean of the
/// record, the slopes of the response. 0 to 1.
double shared_part_of_offset(CriterionKind kind, double tilt_deg, const JointFit& joint);

/// Variance of a criterion's tilt by linear propagation under the likeliest account, degrees².
double linear_variance_deg2(CriterionKind kind, double tilt_deg, const TiltAccount& account);

/// Whether the term has one of these sources.
bool is_lasting(const UncertaintyTerm& term);

/// Root-sum-square of these terms, degrees. `without_gauge`: without the gauge's zero, which a turn by the
/// crosstalk does not contain.
double lasting_u_deg(const std::vector<UncertaintyTerm>& terms, bool without_gauge = false);

/// Terms whose root-sum-square is `tilt.u_deg`: gauge scale, gauge, gain ratio and cut level, signal scatter, gauge zero, record,
/// electronics; and, if they exist, slopes of the response and lean of the record.
///
/// The square of each term is the decrease of the variance when its cause is removed. The causes are removed one after the other, so that
/// the terms add up to the whole.
std::vector<UncertaintyTerm> uncertainty_budget(CriterionKind kind, const CriterionTilt& tilt, const JointFit& joint);

}  // namespace evenwall::internal::solve
