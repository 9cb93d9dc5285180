// SPDX-License-Identifier: GPL-3.0-or-later
// Lists all quantities that a mixed model estimates, at given variances.
#pragma once

#include "numeric/mixed_equations.hpp"

namespace evenwall::internal::numeric {

/// In order: the mean, the slope (if there is a covariate), mean + effect of each level of the first factor, effect of each level of the
/// second factor minus the mean of all of them. A factor that is not in the model has no entries.
struct Targets {
  Eigen::VectorXd value;
  Eigen::VectorXd variance;  ///< of value minus true value at known variance components; includes the factor `residual`
};

Targets targets_of(const MixedEquations& equations, const EquationsAt& e, double residual);

}  // namespace evenwall::internal::numeric
