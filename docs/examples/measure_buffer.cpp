// SPDX-License-Identifier: GPL-3.0-or-later
// Measures two bands of a test record from a buffer in memory, without a file.
#include <algorithm>
#include <cmath>
#include <complex>
#include <cstdint>
#include <iostream>
#include <numbers>
#include <utility>
#include <vector>

#include "evenwall/error.hpp"
#include "evenwall/measure.hpp"
#include "evenwall/words.hpp"

namespace {

/// The library reads audio only through this interface, and it reads blocks. A source may therefore read from a file instead of memory.
class Buffer : public evenwall::AudioSource {
 public:
  Buffer(std::vector<float> interleaved, double sample_rate_hz) : samples_(std::move(interleaved)) {
    info_.sample_rate_hz = sample_rate_hz;
    info_.duration_s = static_cast<double>(samples_.size() / 2) / sample_rate_hz;
    info_.encoding = "memory";
  }
  [[nodiscard]] const evenwall::AudioInfo& info() const override { return info_; }
  [[nodiscard]] std::int64_t frames() const override { return static_cast<std::int64_t>(samples_.size() / 2); }
  std::int64_t read(std::int64_t first, std::int64_t count, float* out) override {
    const std::int64_t there = std::clamp<std::int64_t>(frames() - first, 0, count);
    std::copy_n(samples_.begin() + 2 * first, 2 * there, out);
    return there;
  }

 private:
  std::vector<float> samples_;
  evenwall::AudioInfo info_;
};

constexpr double kRate_hz = 48000;

/// Adds five seconds of a 1 kHz tone that begin at start_s. `left` and `right` are the complex amplitudes of the channels.
void play(std::vector<float>& samples, double start_s, std::complex<double> left, std::complex<double> right) {
  const auto first = static_cast<std::size_t>(start_s * kRate_hz);
  for (std::size_t n = first; n < first + static_cast<std::size_t>(5 * kRate_hz); ++n) {
    const auto turn = std::polar(1.0, 2 * std::numbers::pi * 1000 * static_cast<double>(n) / kRate_hz);
    samples[2 * n] += static_cast<float>((left * turn).real());
    samples[2 * n + 1] += static_cast<float>((right * turn).real());
  }
}

void print(const char* way, const evenwall::Leak& leak) {
  const std::complex<double> ratio = leak.same_passage.value;
  std::cout << way << ": " << evenwall::decibels(std::abs(ratio)) << " dB at " << evenwall::phase_deg(ratio) << " degrees\n";
}

}  // namespace

int main() try {
  std::vector<float> samples(2 * static_cast<std::size_t>(13 * kRate_hz));
  // The crosstalk from left into right is −30 dB and leads by 60°. The crosstalk from right into left is −36 dB and lags by 25°.
  play(samples, 1, 0.25, 0.25 * std::polar(evenwall::amplitude_ratio(-30), evenwall::radians(60)));
  play(samples, 7, 0.25 * std::polar(evenwall::amplitude_ratio(-36), evenwall::radians(-25)), 0.25);

  Buffer buffer(std::move(samples), kRate_hz);
  evenwall::MeasureOptions options;
  options.bands = {evenwall::Band::kLeft, evenwall::Band::kRight};
  const evenwall::Measurement measured = evenwall::measure(buffer, options);

  std::cout << "tone: " << measured.crosstalk.frequency_hz << " Hz\n";
  // If the capture has no band for a direction, its crosstalk is absent.
  if (measured.crosstalk.left_into_right) print("left into right", *measured.crosstalk.left_into_right);
  if (measured.crosstalk.right_into_left) print("right into left", *measured.crosstalk.right_into_left);
  for (const evenwall::Warning& warning : measured.warnings)
    std::cout << evenwall::enum_name(warning.code) << ": " << warning.message << '\n';
} catch (const evenwall::Error& error) {
  // The message is one line. It states what was found and what to do.
  std::cerr << error.what() << '\n';
  return 1;
}
