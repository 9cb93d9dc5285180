// SPDX-License-Identifier: GPL-3.0-or-later
// Holds audio in memory and draws tones into it.
#pragma once

#include <algorithm>
#include <cmath>
#include <complex>
#include <vector>

#include "evenwall/model.hpp"
#include "support/rig.hpp"

class MemorySource : public evenwall::AudioSource {
 public:
  MemorySource(std::vector<float> interleaved, double rate_hz) : samples_(std::move(interleaved)) {
    info_.sample_rate_hz = rate_hz;
    info_.duration_s = static_cast<double>(samples_.size() / 2) / rate_hz;
    info_.encoding = "memory";
  }
  [[nodiscard]] const evenwall::AudioInfo& info() const override { return info_; }
  [[nodiscard]] std::int64_t frames() const override { return static_cast<std::int64_t>(samples_.size() / 2); }
  std::int64_t read(std::int64_t first, std::int64_t count, float* out) override {
    const std::int64_t n = std::clamp<std::int64_t>(frames() - first, 0, count);
    std::copy_n(samples_.begin() + 2 * first, 2 * n, out);
    return n;
  }
  std::vector<float>& samples() { return samples_; }

 private:
  std::vector<float> samples_;
  evenwall::AudioInfo info_;
};

/// Reads a whole source into memory. measure() reads its source twice, and a simulated source would be simulated twice.
inline MemorySource in_memory(evenwall::AudioSource& source) {
  std::vector<float> samples(2 * static_cast<std::size_t>(source.frames()));
  source.read(0, source.frames(), samples.data());
  return {std::move(samples), source.info().sample_rate_hz};
}

/// A canvas of stereo audio that tones are drawn on.
struct Canvas {
  double rate_hz;
  std::vector<float> samples;

  Canvas(double rate, double seconds) : rate_hz(rate), samples(2 * static_cast<std::size_t>(rate * seconds)) {}

  /// Adds a cosine of frequency f to both channels with complex amplitudes, from start_s for length_s.
  Canvas& tone(double start_s, double length_s, double f, std::complex<double> left, std::complex<double> right) {
    const auto first = static_cast<std::size_t>(start_s * rate_hz);
    const auto last = std::min(samples.size() / 2, static_cast<std::size_t>((start_s + length_s) * rate_hz));
    for (std::size_t n = first; n < last; ++n) {
      const auto turn = std::polar(1.0, 2 * 3.14159265358979323846 * std::fmod(f * static_cast<double>(n) / rate_hz, 1.0));
      samples[2 * n] += static_cast<float>((left * turn).real());
      samples[2 * n + 1] += static_cast<float>((right * turn).real());
    }
    return *this;
  }
  Canvas& noise(double sd, std::uint64_t seed) {
    rig::Draw draw(seed);
    for (float& x : samples) x += static_cast<float>(sd * draw.normal());
    return *this;
  }
  [[nodiscard]] MemorySource source() const { return {samples, rate_hz}; }
};
