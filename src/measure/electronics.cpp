// SPDX-License-Identifier: GPL-3.0-or-later
// Computes the crosstalk of the electronics from measurements of tones that were injected into one channel at a time.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "evenwall/error.hpp"
#include "evenwall/measure.hpp"
#include "measure/combine.hpp"

namespace evenwall::internal::measure {
namespace {

/// Results of all measurements for one tone.
struct InjectedTone {
  std::vector<double> frequencies_hz;
  std::vector<ComplexEstimate> right_into_left, left_into_right;

  [[nodiscard]] double mean_hz() const {
    double sum_hz = 0;
    for (const double hz : frequencies_hz) sum_hz += hz;
    return sum_hz / static_cast<double>(frequencies_hz.size());
  }
  [[nodiscard]] bool complete() const { return !right_into_left.empty() && !left_into_right.empty(); }
  [[nodiscard]] std::string missing() const {
    return fmt::format("no {}-only passage at {:.1f} Hz", right_into_left.empty() ? "right" : "left", mean_hz());
  }
};

std::vector<LeakPair> leaks_by_frequency(const std::vector<Measurement>& measurements) {
  std::vector<LeakPair> all;
  for (const Measurement& measurement : measurements) {
    for (const LeakPair& pair : measurement.crosstalk_spectrum) {
      if (pair.right_into_left || pair.left_into_right) all.push_back(pair);
    }
  }
  std::stable_sort(all.begin(), all.end(), [](const LeakPair& a, const LeakPair& b) { return a.frequency_hz < b.frequency_hz; });
  return all;
}

std::vector<InjectedTone> injected_tones(const std::vector<Measurement>& measurements) {
  std::vector<InjectedTone> tones;
  for (const LeakPair& pair : leaks_by_frequency(measurements)) {
    const double first_hz = tones.empty() ? 0.0 : tones.back().frequencies_hz.front();
    if (pair.frequency_hz - first_hz > kSameTone * first_hz) tones.emplace_back();
    tones.back().frequencies_hz.push_back(pair.frequency_hz);
    if (pair.right_into_left) tones.back().right_into_left.push_back(pair.right_into_left->same_passage);
    if (pair.left_into_right) tones.back().left_into_right.push_back(pair.left_into_right->same_passage);
  }
  return tones;
}

double u_of_each_part(const ComplexEstimate& e) { return std::sqrt(0.5 * (e.u_re * e.u_re + e.u_im * e.u_im)); }

CalibrationPoint point_of(const InjectedTone& tone) {
  const ComplexEstimate right_into_left = weighted_mean(tone.right_into_left);
  const ComplexEstimate left_into_right = weighted_mean(tone.left_into_right);
  return {tone.mean_hz(),
          {Complex{1, 0}, right_into_left.value, left_into_right.value, Complex{1, 0}},
          {u_of_each_part(right_into_left), u_of_each_part(left_into_right)}};
}

[[noreturn]] void refuse_one_sided(const std::vector<InjectedTone>& tones) {
  std::string missing;
  for (const InjectedTone& tone : tones) missing += (missing.empty() ? "" : ", ") + tone.missing();
  throw Error(
      ErrorKind::kData,
      fmt::format("no tone was injected into both channels: {}. No matrix is computed. Give recordings of the same tone injected left only "
                  "and right only.",
                  missing.empty() ? "no left-only or right-only passage in any recording" : missing));
}

}  // namespace
}  // namespace evenwall::internal::measure

namespace evenwall {

Calibration calibrate(const std::vector<Measurement>& measurements) {
  using namespace internal::measure;
  for (const Measurement& measurement : measurements) {
    if (const auto record = record_in_calibration(measurement)) throw Error(ErrorKind::kData, record->message);
  }
  const std::vector<InjectedTone> tones = injected_tones(measurements);
  Calibration calibration;
  for (const InjectedTone& tone : tones) {
    if (tone.complete()) {
      calibration.points.push_back(point_of(tone));
    } else {
      calibration.warnings.push_back(
          {WarningCode::kMissingPassage,
           tone.missing() + " was found. The tone is excluded from the calibration. Inject it into that channel too."});
    }
  }
  if (calibration.points.empty()) refuse_one_sided(tones);
  return calibration;
}

}  // namespace evenwall
