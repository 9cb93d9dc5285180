// SPDX-License-Identifier: GPL-3.0-or-later
// The three tilts and how sure they are.
#pragma once

#include <optional>

#include "evenwall/model.hpp"
#include "solve/tilt_fit.hpp"

namespace evenwall::internal::solve {

/// Where a criterion is met, true degrees.
struct CriterionTilt {
  double tilt_deg = 0;
  double u_deg = 0;
  Interval interval95_deg{};
  double degrees_of_freedom = 0;  ///< 0: normal
};

/// Fieller's set for the root of a criterion over a mixture of accounts: the median and the 2.5 % and 97.5 % points of the
/// distribution of the root. Nothing where they are not all within reach of least crosstalk.
/// Source: docs/method.md, "Criteria".
std::optional<CriterionTilt> criterion_tilt(CriterionKind kind, const TiltFit& fit);

/// The number to set on the gauge of the log for it, in the log's unit: its uncertainty is free of the gauge's zero, and of what it takes
/// for a degree. Nothing if it is not all within reach.
struct CriterionSetting {
  double setting = 0;
  double u = 0;
  Interval interval95{};
};
std::optional<CriterionSetting> criterion_setting(CriterionKind kind, const TiltFit& fit);

/// Why a criterion does or does not give a tilt.
struct Determination {
  bool determined = false;
  std::string why;  ///< in words, where not
};
Determination determination(CriterionKind kind, const TiltFit& fit);

/// Student or normal quantile factor for 95 %.
double coverage_factor95(double degrees_of_freedom);

}  // namespace evenwall::internal::solve
