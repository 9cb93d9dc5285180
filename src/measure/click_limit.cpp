// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/click_limit.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "measure/method_constants.hpp"
#include "numeric/matrix.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

using Lanes = Eigen::Array<float, 8, 1>;

/// Every stride-th sample of one channel, each at a pseudo-random place within its stride.
std::vector<double> some_samples(const std::vector<float>& block, std::size_t channel) {
  const std::size_t frames = block.size() / 2;
  const std::size_t stride = std::max<std::size_t>(1, frames / kClickLimitSamples);
  std::vector<double> some(frames / stride);
  std::uint32_t hash = 0;
  std::size_t first = 0;
  for (double& sample : some) {
    hash += 2654435769U;  // 2³² over the golden ratio: successive values are spread evenly
    sample = static_cast<double>(block[2 * (first + (hash >> 16U) % stride) + channel]);
    first += stride;
  }
  return some;
}

}  // namespace

double limit_clicks(std::vector<float>& block) {
  // Limits of the samples of both channels in turn. A channel without a limit keeps all of its samples.
  Lanes low, high;
  for (std::size_t channel = 0; channel < 2; ++channel) {
    std::vector<double> values = some_samples(block, channel);
    double middle = 0, most = HUGE_VAL;
    if (!values.empty()) {
      middle = numeric::median(values);
      for (double& x : values) x = std::abs(x - middle);
      most = kScanClickLimit * numeric::median(std::move(values));
    }
    if (!(most > 0)) most = HUGE_VAL;
    for (auto i = static_cast<Eigen::Index>(channel); i < Lanes::SizeAtCompileTime; i += 2) {
      low[i] = static_cast<float>(middle - most);
      high[i] = static_cast<float>(middle + most);
    }
  }
  // All lanes at once and without branches, because this loop runs over each sample of many frames.
  Lanes removed = Lanes::Zero();
  const auto limit = [&](auto& samples) {
    const Lanes limited = samples.max(low).min(high);
    removed += (samples - limited).square();
    samples = limited;
  };
  const std::size_t whole = block.size() - block.size() % Lanes::SizeAtCompileTime;
  for (std::size_t n = 0; n < whole; n += Lanes::SizeAtCompileTime) {
    Eigen::Map<Lanes> samples(block.data() + n);
    limit(samples);
  }
  Lanes last = Lanes::Zero().max(low).min(high);
  const auto rest = block.begin() + static_cast<std::ptrdiff_t>(whole);
  std::copy(rest, block.end(), last.begin());
  limit(last);
  std::copy_n(last.begin(), block.end() - rest, rest);
  return block.empty() ? 0.0 : static_cast<double>(removed.sum()) / (0.5 * static_cast<double>(block.size()));
}

bool may_hide_a_tone(double tonal, double power, double removed) {
  const double rest = power - kClickPowerDoubt * removed;
  return std::any_of(kScanThresholds.begin(), kScanThresholds.end(),
                     [&](double threshold) { return tonal < threshold && tonal * power >= threshold * rest; });
}

}  // namespace evenwall::internal::measure
