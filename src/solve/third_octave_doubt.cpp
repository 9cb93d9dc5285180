// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/third_octave_doubt.hpp"

#include <algorithm>
#include <cmath>

#include "solve/band_constants.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

const double kThirdOctave = std::pow(10.0, 0.1);

/// Whether a tone was measured at this frequency. A tone has no width.
bool has_tone(const Measurement& measured, double frequency_hz) {
  return std::any_of(measured.passages.begin(), measured.passages.end(), [&](const Passage& p) {
    return p.kind == PassageKind::kTone && p.frequency_hz && std::abs(*p.frequency_hz - frequency_hz) <= kFrequencyMatch * frequency_hz;
  });
}

/// Mean square of the differences to the third octaves on both sides, over both directions; 0 if neither was measured.
double square_of_differences(const Measurement& measured, double frequency_hz) {
  const auto here = leaks_near(measured, frequency_hz);
  if (!here) return 0;
  double sum = 0;
  int count = 0;
  for (const double beside_hz : {frequency_hz / kThirdOctave, frequency_hz * kThirdOctave}) {
    const auto beside = leaks_near(measured, beside_hz);
    if (!beside) continue;
    sum += std::norm(beside->right_into_left->same_passage.value - here->right_into_left->same_passage.value) +
           std::norm(beside->left_into_right->same_passage.value - here->left_into_right->same_passage.value);
    count += 2;
  }
  return count > 0 ? sum / count : 0;
}

}  // namespace

OffsetDoubt third_octave_doubt(const Session& session, const Observations& observations) {
  double sum = 0;
  for (const Observation& o : observations.fitted) {
    const Measurement& measured = *session.steps[o.step].measurement();
    // A measurement without passages states its uncertainty.
    if (measured.passages.empty() || has_tone(measured, observations.frequency_hz)) continue;
    sum += square_of_differences(measured, observations.frequency_hz);
  }
  const double d = std::sqrt(sum / static_cast<double>(std::max<std::size_t>(1, observations.fitted.size())));
  const double of_each_part = kGainCourse * d / std::sqrt(12.0) / std::sqrt(2.0);
  return {of_each_part, of_each_part};
}

}  // namespace evenwall::internal::solve
