// SPDX-License-Identifier: GPL-3.0-or-later
// The rows that a leaning record's ratio is fitted to, and the speed at which they are.
#pragma once

#include <vector>

#include "measure/lean_priors.hpp"
#include "measure/ratio_course.hpp"
#include "measure/turning_speed.hpp"
#include "numeric/harmonic_sums.hpp"

namespace evenwall::internal::measure {

/// Rows of the fit: a frame's length each.
struct Blocks {
  std::vector<double> time_s;
  Eigen::VectorXd weight;
  Eigen::VectorXcd ratio;  ///< with the lean on the real axis
};

/// Weighted means. Blocks of hardly any weight are excluded. turn: the factor that brings the lean onto the real axis.
Blocks blocks_of(const RatioCourse& course, const std::vector<double>& weights, Complex turn);

/// Normal equations of a constant and harmonics of the turn at one speed, of unit noise.
struct Equations {
  double rpm = 0;
  numeric::TurnPhasors phasors;  ///< of the blocks
  Eigen::MatrixXd information;
  Eigen::VectorXcd pull;
};
Equations equations_of(const Blocks& blocks, numeric::TurnPhasors phasors, double rpm, int harmonics);

/// Every `group` blocks as one.
Blocks grouped(const Blocks& blocks, std::size_t group);

/// The speed near a nominal one that explains wow and the lowest harmonics of the lean best. variance: of a block of weight 1.
double found_rpm(const Blocks& blocks, double middle_s, double rpm, double variance, const PitchCourse& pitch);

/// What two further unknowns do to the constant: a speed beside the equations' one, and a lean that grows or fades from turn to turn.
struct TurnDoubt {
  double mean = 0;            ///< to add to the constant,
  double noise_variance = 0;  ///< and to its variances
  double groove_variance = 0;
  double speed = 0;  ///< how much faster the record turns than the equations assume, as a share
};

/// One Gauss–Newton step at the likeliest prior. Over many turns a small error of speed is a large angle at the eighth harmonic; over one
/// or two it cannot be determined and remains a doubt. variance: of a block of weight 1. off: what the equations' speed exceeds the nominal
/// one by, as a share.
TurnDoubt turn_doubt(const Equations& equations, const Blocks& blocks, double middle_s, const SpeedAnswer& answer, double variance,
                     double off);

}  // namespace evenwall::internal::measure
