// SPDX-License-Identifier: GPL-3.0-or-later
// Builds the equations of the lean fit, and refines the speed of the record.
#pragma once

#include <vector>

#include "measure/lean_priors.hpp"
#include "measure/ratio_course.hpp"
#include "measure/turning_speed.hpp"
#include "numeric/harmonic_sums.hpp"

namespace evenwall::internal::measure {

/// Rows of the fit. Each of them is as long as one frame.
struct Blocks {
  std::vector<double> time_s;
  Eigen::VectorXd weight;
  Eigen::VectorXcd ratio;  ///< turned so that the lean lies on the real axis
};

/// Weighted means over one frame's length. Blocks of almost no weight are excluded. turn: factor that brings the lean onto the real axis.
Blocks blocks_of(const RatioCourse& course, const std::vector<double>& weights, Complex turn);

/// Normal equations of a constant and harmonics of the turn at one speed, for noise of variance 1.
struct Equations {
  double rpm = 0;
  numeric::TurnPhasors phasors;  ///< of the blocks
  Eigen::MatrixXd information;
  Eigen::VectorXcd pull;
};
Equations equations_of(const Blocks& blocks, numeric::TurnPhasors phasors, double rpm, int harmonics);

/// Joins every `group` adjacent blocks into one.
Blocks grouped(const Blocks& blocks, std::size_t group);

/// Finds the speed near a nominal one at which wow and the lowest harmonics of the lean have the largest evidence.
/// variance: noise variance of a block of weight 1.
double found_rpm(const Blocks& blocks, double middle_s, double rpm, double variance, const PitchCourse& pitch);

/// Effect of two further unknowns on the constant: an error of the speed, and a lean that grows or fades from turn to turn.
struct TurnDoubt {
  double mean = 0;             ///< to be added to the constant
  double noise_variance = 0;   ///< to be added to the constant's noise variance
  double groove_variance = 0;  ///< to be added to its groove variance
  double speed = 0;            ///< relative error of the speed that the equations assume; positive if the record turns faster
};

/// Makes one Gauss–Newton step at the most probable prior. Over many turns a small error of the speed is a large angle at the eighth
/// harmonic. Over one or two turns the error cannot be determined, and its prior widens the result.
/// variance: noise variance of a block of weight 1. off: relative excess of the equations' speed over the nominal one.
TurnDoubt turn_doubt(const Equations& equations, const Blocks& blocks, double middle_s, const SpeedAnswer& answer, double variance,
                     double off);

}  // namespace evenwall::internal::measure
