// SPDX-License-Identifier: GPL-3.0-or-later
// Generates the capture of one step while it is read.
#pragma once

#include <array>
#include <optional>
#include <vector>

#include "simulate/disturbance.hpp"
#include "simulate/groove.hpp"
#include "simulate/groove_noise.hpp"

namespace evenwall::internal::simulate {

class SimulatedCapture : public AudioSource {
 public:
  SimulatedCapture(const Scenario& scenario, std::uint64_t seed, std::size_t step, double true_tilt_deg);

  [[nodiscard]] const AudioInfo& info() const override { return info_; }
  [[nodiscard]] std::int64_t frames() const override { return frames_; }
  std::int64_t read(std::int64_t first, std::int64_t count, float* out) override;

 private:
  /// Everything that changes slowly, computed every kControl frames.
  struct Control {
    Complex left, right;  // complex amplitudes of the outputs, full scale = 1
    double frequency_hz = 0;
    bool noise = false;
  };
  /// State of the generation between two blocks; a copy continues exactly as the original.
  struct State {
    Disturbance disturbance;
    std::int64_t made = 0;  // frames
    Control control{};
    std::size_t band = 0;
    Complex turn{1, 0};
    std::optional<GrooveNoise> noise{};  // of the current band; created anew for each band
  };
  void make_block();
  void go_to(std::int64_t first);
  [[nodiscard]] Control control_at(std::int64_t frame);
  [[nodiscard]] double flutter_at(double time_s) const;

  static constexpr int kControl = 64;  // frames between two control points; all changes are slower than 100 Hz
  static constexpr std::int64_t kMarkEvery = std::int64_t{256} * kControl;  // frames between two stored states: a short step back is cheap
  Scenario scenario_;
  std::uint64_t seed_;
  std::size_t step_;
  double tilt_deg_;
  AudioInfo info_;
  std::int64_t frames_ = 0;
  Groove groove_;
  double lead_s_ = 0;                               // time that the recorder ran before the first band
  std::array<std::array<double, 3>, 3> flutter_{};  // rate, amplitude, phase
  State now_;
  std::vector<State> marks_;  // at frames 0, kMarkEvery, 2 kMarkEvery, … up to the last frame made
  std::array<float, std::size_t{2} * kControl> block_{};
};

}  // namespace evenwall::internal::simulate
