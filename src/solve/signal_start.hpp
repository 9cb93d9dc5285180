// Where the signal's fit starts.
#pragma once

#include <vector>

#include "solve/signal_fit.hpp"

namespace evenwall {

/// First values of each step's ψ (radians, one for each observation) and of the common unknowns: gains by the response where it stands
/// clear of the noise, else by levels and phases; the rest by the steps' means. Good enough for Gauss-Newton to find its way.
void start_signal(const std::vector<Observation>& observations, const GainPriors& priors, Eigen::VectorXd& psi, Eigen::VectorXd& common);

}  // namespace evenwall
