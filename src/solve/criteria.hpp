// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the tilt at which each criterion is met, and its uncertainty.
#pragma once

#include <optional>

#include "evenwall/model.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// Tilt at which a criterion is met, true degrees. The half-width of the interval is u_deg times the coverage factor for its degrees of
/// freedom.
struct CriterionTilt {
  double tilt_deg = 0;
  double u_deg = 0;  ///< standard uncertainty
  Interval interval95_deg{};
  double degrees_of_freedom = 0;  ///< 0: normal distribution, or more than kPracticallyNormal_nu
};

/// Fieller's set for the root of a criterion over a mixture of accounts: the median and the 2.5 % and 97.5 % points of the
/// distribution of the root. Returns nothing if one of these points is out of reach of least crosstalk.
/// Source: docs/method.md, "Criteria".
std::optional<CriterionTilt> criterion_tilt(CriterionKind kind, const TiltFit& fit);

/// The number to set on the log's gauge to meet a criterion, in the log's unit. Its uncertainty contains neither the error of the gauge's
/// zero nor the error of the magnitude of its degree. Returns nothing if one of the three points is out of reach.
struct CriterionSetting {
  double setting = 0;
  double u = 0;
  Interval interval95{};
};
std::optional<CriterionSetting> criterion_setting(CriterionKind kind, const TiltFit& fit);

/// The reason if the distribution of a criterion's tilt does not reach its 2.5 % or its 97.5 % point (root_distribution.hpp).
inline constexpr char kNoEndInReach[] =
    "it cannot be determined, because its 95 % interval has no end within the limit. The limit is 6° from least crosstalk "
    "(20° if the gauge uncertainty is estimated from the steps)";

/// The part of a criterion in a recommendation that does not jump. The recommended tilt lies at the distance share · d from least
/// crosstalk, with d that of the criterion. It equals d up to a distance d1, and then falls by `slope` degrees per degree of d, to zero.
struct Share {
  double value = 0;
  double slope = 1;  ///< of the recommended distance, by magnitude: 1 up to d1
};
/// `ratio`: d1/d.
Share fading(double ratio, double slope);

/// Why a criterion does or does not give a tilt.
struct Determination {
  bool determined = false;
  std::string why;          ///< the reason in words, if not determined
  Share share;              ///< 1: well determined; it fades to 0 where the criterion stops being determined
  double u_offset_deg = 0;  ///< standard uncertainty of its distance from least crosstalk
};
Determination determination(CriterionKind kind, const TiltFit& fit);

/// Coverage factor for 95 %: from Student's t distribution, or from the normal one if degrees_of_freedom is 0.
double coverage_factor95(double degrees_of_freedom);

}  // namespace evenwall::internal::solve
