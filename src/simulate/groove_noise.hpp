// SPDX-License-Identifier: GPL-3.0-or-later
// Test noise as cut into a groove: one-sided, so that a complex coupling can turn its phase.
#pragma once

#include <array>

#include "evenwall/units.hpp"
#include "simulate/draw.hpp"

namespace evenwall::internal::simulate {

/// White or pink noise and its quadrature: Re(a·next()) has the rms of a sine of amplitude |a|.
class GrooveNoise {
 public:
  GrooveNoise(bool pink, Draw draw);
  Complex next();

 private:
  /// Two second-order all-pass chains whose phases lie a quarter turn apart.
  struct AllPass {
    double coefficient = 0;
    std::array<double, 2> in{}, out{};
    double step(double x);
  };
  double coloured();

  bool pink_;
  Draw draw_;
  double scale_;
  std::array<double, 7> pink_state_{};
  std::array<AllPass, 6> first_, second_;
  double delayed_ = 0;
};

}  // namespace evenwall::internal::simulate
