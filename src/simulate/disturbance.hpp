// SPDX-License-Identifier: GPL-3.0-or-later
// Generates the disturbances of a simulated capture: surface noise, rumble, clicks, hum and a DC offset.
#pragma once

#include <array>
#include <vector>

#include "evenwall/simulate.hpp"
#include "simulate/draw.hpp"

namespace evenwall::internal::simulate {

/// Generates disturbances sample by sample, in playing order.
class Disturbance {
 public:
  /// tone_peak: peak of the loudest band's tone, full scale = 1.
  Disturbance(const SimulatedNoise& noise, double sample_rate_hz, double tone_peak, Draw draw);
  std::array<double, 2> next();

 private:
  struct Click {
    Complex state, turn;
    std::array<double, 2> share;
    int left;
  };
  struct Hum {
    Complex state, turn;
    std::array<double, 2> amplitude;
  };
  void begin_click();
  void step_rumble();

  SimulatedNoise noise_;
  double rate_hz_;
  double tone_peak_;
  Draw draw_;
  double white_sd_ = 0, dull_sd_ = 0, dull_pole_ = 0;
  std::array<double, 2> dull_{};
  double rumble_sd_ = 0, rumble_pole_ = 0;
  std::array<double, 2> rumble_first_{}, rumble_now_{}, rumble_step_{};
  int until_rumble_ = 0;
  double until_click_ = 0;
  std::vector<Click> clicks_;
  std::vector<Hum> hum_;
};

}  // namespace evenwall::internal::simulate
