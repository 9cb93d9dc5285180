// SPDX-License-Identifier: GPL-3.0-or-later
// Generates test noise as cut into a groove. Its spectrum is one-sided, so that a complex coupling can rotate its phase.
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
  /// One section of two second-order all-pass chains; the phases of the chains differ by 90°.
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
