// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/octave_scan.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "measure/method_constants.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

/// Computes Σ ln of many numbers from the logarithms of their products, eight factors each.
class LogSum {
 public:
  void add(double value) {
    product_ *= value;
    if (++count_ % 8 == 0) close();
  }
  double total() {
    close();
    return total_;
  }

 private:
  void close() {
    total_ += std::log(product_);
    product_ = 1;
  }
  double product_ = 1, total_ = 0;
  int count_ = 0;
};

/// Median distance of a block's levels in one octave from their median, divided by the value for steady noise. Steady noise has a standard
/// deviation of 4.34 dB·√(1.94/lines), because a Hann window correlates adjacent lines (1 + 2·(2/3)² + 2·(1/6)² = 1.94), and the median
/// distance is 0.6745 standard deviations.
double unrest_of(const std::vector<double>& levels_db, double lines) {
  const double middle = numeric::median(levels_db);
  std::vector<double> distances;
  for (const double level : levels_db) distances.push_back(std::abs(level - middle));
  return numeric::median(std::move(distances)) / (0.6745 * 10 / std::numbers::ln10 * std::sqrt(1.94 / lines));
}

}  // namespace

double db_of_power(double power) { return 10 * std::log10(std::max(power, 1e-30)); }

OctaveFrame octave_frame(const numeric::LookSpectrum& spectrum, double bin_hz) {
  OctaveFrame frame;
  frame.bin_hz = static_cast<float>(bin_hz);
  // Factor for the mean square of a real signal from one side of its Hann-weighted spectrum: 2/(N·Σw²), Σw² = 3N/8.
  const auto size = static_cast<double>(spectrum.size());
  const double scale = 2.0 / (size * 0.375 * size);
  const auto highest = static_cast<std::size_t>(kHighestLineShare * static_cast<double>(spectrum.bins()));
  double fullness = 0;
  int full_octaves = 0;
  for (std::size_t o = 0; o < kOctaves; ++o) {
    const double centre_hz = kLowestOctave_hz * std::exp2(static_cast<double>(o));
    const auto first = static_cast<std::size_t>(std::ceil(centre_hz / std::numbers::sqrt2 / bin_hz));
    const auto last = static_cast<std::size_t>(std::floor(centre_hz * std::numbers::sqrt2 / bin_hz));
    if (last >= highest) break;
    double left = 0, right = 0, shared_re = 0, shared_im = 0;
    LogSum logs;
    for (std::size_t k = first; k <= last; ++k) {
      const std::complex<float> l = spectrum.left(k);
      const std::complex<float> r = spectrum.right(k);
      left += static_cast<double>(l.real() * l.real() + l.imag() * l.imag());
      right += static_cast<double>(r.real() * r.real() + r.imag() * r.imag());
      shared_re += static_cast<double>(l.real() * r.real() + l.imag() * r.imag());
      shared_im += static_cast<double>(l.imag() * r.real() - l.real() * r.imag());
      if (o >= kFirstFull) logs.add(static_cast<double>(std::norm(l) + std::norm(r)) + kLeastOctavePower);
    }
    frame.left[o] = static_cast<float>(scale * left);
    frame.right[o] = static_cast<float>(scale * right);
    frame.shared[o] = {static_cast<float>(scale * shared_re), static_cast<float>(scale * shared_im)};
    if (o < kFirstFull) continue;
    const auto lines = static_cast<double>(last - first + 1);
    fullness += logs.total() / lines - std::log((left + right) / lines + kLeastOctavePower);
    ++full_octaves;
  }
  if (full_octaves > 0) frame.fullness = static_cast<float>(fullness / full_octaves);
  return frame;
}

void OctaveScan::reserve(std::size_t looks) {
  power_.reserve(looks);
  blocks_.reserve(looks / kOctaveBlockFrames + 1);
}

void OctaveScan::add(double middle_s, const OctaveFrame& frame) {
  if (power_.empty()) first_s_ = middle_s;
  if (power_.size() == 1) step_s_ = middle_s - first_s_;
  while (octaves_ < kOctaves && frame.left[octaves_] + frame.right[octaves_] > 0) ++octaves_;
  double left = 0, right = 0;
  for (std::size_t o = 0; o < kOctaves; ++o) left += frame.left[o], right += frame.right[o];
  const auto hundredths = [](double power) { return static_cast<std::int16_t>(std::lround(100 * db_of_power(power))); };
  power_.push_back({hundredths(left), hundredths(right)});
  open_.push_back(frame);
  if (open_.size() == kOctaveBlockFrames) close_block();
}

double OctaveScan::unrest(const OctaveBlock& block) const {
  double sum = 0;
  int octaves = 0;
  float bin_hz = 0;  // 0 in the look of a clear tone, which has no octaves
  for (const OctaveFrame& f : open_) bin_hz = std::max(bin_hz, f.bin_hz);
  if (bin_hz == 0) return 0;
  for (std::size_t o = kFirstFull; o < octaves_; ++o, ++octaves) {
    const bool left = block.left_db[o] >= block.right_db[o];
    std::vector<double> levels_db(open_.size());
    std::transform(open_.begin(), open_.end(), levels_db.begin(),
                   [&](const OctaveFrame& f) { return db_of_power(static_cast<double>(left ? f.left[o] : f.right[o])); });
    const double width_hz = kLowestOctave_hz * std::exp2(static_cast<double>(o)) / std::numbers::sqrt2;
    sum += unrest_of(levels_db, width_hz / static_cast<double>(bin_hz));
  }
  return octaves > 0 ? sum / octaves : 0;
}

void OctaveScan::close_block() {
  OctaveBlock block;
  const auto median_of = [&](auto value) {
    std::vector<double> values(open_.size());
    std::transform(open_.begin(), open_.end(), values.begin(), [&](const OctaveFrame& f) { return static_cast<double>(value(f)); });
    return numeric::median(std::move(values));
  };
  block.fullness = static_cast<float>(median_of([](const OctaveFrame& f) { return f.fullness; }));
  for (std::size_t o = 0; o < kOctaves; ++o) {
    std::complex<double> shared = 0;
    double left = 0, right = 0;
    for (const OctaveFrame& f : open_) {
      shared += std::complex<double>(f.shared[o]);
      left += f.left[o];
      right += f.right[o];
    }
    block.left_db[o] = static_cast<float>(db_of_power(median_of([o](const OctaveFrame& f) { return f.left[o]; })));
    block.right_db[o] = static_cast<float>(db_of_power(median_of([o](const OctaveFrame& f) { return f.right[o]; })));
    block.shared[o] = left * right > 0 ? static_cast<float>(std::norm(shared) / (left * right)) : 0.0F;
  }
  block.unrest = static_cast<float>(unrest(block));
  blocks_.push_back(block);
  open_.clear();
}

}  // namespace evenwall::internal::measure
