// SPDX-License-Identifier: GPL-3.0-or-later
// Everything a mixed model estimates, in one list, at given variances.
#pragma once

#include "numeric/mixed_equations.hpp"

namespace evenwall::internal::numeric {

/// In order: the mean, the slope (where there is a covariate), mean + effect of each level of the first factor, effect of each level of the
/// second less the mean of all of them. A factor that is not there has no entries.
struct Targets {
  Eigen::VectorXd value;
  Eigen::VectorXd variance;  ///< of value minus truth, the variances taken as known; times `residual`
};

Targets targets_of(const MixedEquations& equations, const EquationsAt& e, double residual);

}  // namespace evenwall::internal::numeric
