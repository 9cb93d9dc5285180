// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/slips.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

#include "base/counted.hpp"
#include "measure/interruptions.hpp"
#include "measure/method_constants.hpp"
#include "numeric/counts.hpp"

namespace evenwall::internal::measure {
namespace {

/// Cumulative sums of unit vectors with the phase by which the driven channel lags the other one.
std::vector<Complex> phase_sums(const InnerFrames& inner) {
  std::vector<Complex> sums(1, Complex{0, 0});
  for (std::size_t f = 0; f < inner.driven.size(); ++f) {
    const Complex z = inner.quiet[f] * std::conj(inner.driven[f]);
    sums.push_back(sums.back() + (std::abs(z) > 0 ? z / std::abs(z) : Complex{0, 0}));
  }
  return sums;
}

struct Sides {
  Complex before, after;  // means of unit vectors
  [[nodiscard]] double jump_rad() const { return std::arg(after * std::conj(before)); }
  /// Standard deviation of one frame's phase.
  [[nodiscard]] double scatter_rad() const {
    const double length = std::clamp(std::min(std::abs(before), std::abs(after)), 1e-6, 1.0);
    return std::sqrt(-2.0 * std::log(length));
  }
  /// Whether the jump is one sample, with or without an exchange of the channels.
  [[nodiscard]] bool is_one_sample(double sample_rad, double share) const {
    const auto near = [&](double rad) { return std::abs(std::abs(wrapped(rad)) - sample_rad) <= share * sample_rad; };
    return near(jump_rad()) || near(jump_rad() + 2.0 * std::arg(before));
  }
};

Sides sides_of(const std::vector<Complex>& sums, std::size_t f, std::size_t reach) {
  const auto n = static_cast<double>(reach);
  return {(sums[f - kSlipSpoiltFrames] - sums[f - kSlipSpoiltFrames - reach]) / n,
          (sums[f + kSlipSpoiltFrames + reach] - sums[f + kSlipSpoiltFrames]) / n};
}

/// Interleaved stereo samples around a moment, and the position of the first one.
struct Around {
  std::vector<float> samples;
  std::int64_t first = 0;
  [[nodiscard]] std::size_t frames() const { return samples.size() / 2; }
  [[nodiscard]] double at(std::size_t n, std::size_t channel) const { return static_cast<double>(samples[2 * n + channel]); }
};

Around around(AudioSource& source, double at_s) {
  const double rate = source.info().sample_rate_hz;
  Around a;
  a.first = std::max<std::int64_t>(0, std::lround((at_s - kSlipAround_s) * rate));
  const auto wanted = static_cast<std::int64_t>(numeric::at_least_one(2 * kSlipAround_s * rate));
  a.samples.resize(2 * static_cast<std::size_t>(wanted));
  a.samples.resize(2 * static_cast<std::size_t>(source.read(a.first, wanted, a.samples.data())));
  return a;
}

/// The frame from which on the tone is in the other channel. It minimises the power of the undriven channel before and after it.
std::size_t change_of(const Around& a, std::size_t driven) {
  double cost = 0;
  for (std::size_t n = 0; n < a.frames(); ++n) cost += std::pow(a.at(n, driven), 2);
  double least = cost;
  std::size_t change = 0;
  for (std::size_t n = 0; n < a.frames(); ++n) {
    cost += std::pow(a.at(n, 1 - driven), 2) - std::pow(a.at(n, driven), 2);
    if (cost < least) least = cost, change = n + 1;
  }
  return change;
}

struct Sine {
  Complex amplitude;    // phase at frame `origin`
  double residual = 0;  // root mean square
};

/// Least squares of one sine over frames [first, last) of a channel.
Sine sine_of(const Around& a, std::size_t channel, std::size_t first, std::size_t last, std::size_t origin, double step_rad) {
  double cc = 0, ss = 0, cs = 0, yc = 0, ys = 0, yy = 0;
  for (std::size_t n = first; n < last; ++n) {
    const double angle = step_rad * (static_cast<double>(n) - static_cast<double>(origin));
    const double c = std::cos(angle), s = std::sin(angle), y = a.at(n, channel);
    cc += c * c, ss += s * s, cs += c * s, yc += y * c, ys += y * s, yy += y * y;
  }
  const double det = cc * ss - cs * cs;
  if (!(det > 0)) return {};
  const double p = (yc * ss - ys * cs) / det, q = (ys * cc - yc * cs) / det;
  const double left = yy - p * yc - q * ys;
  return {{p, -q}, std::sqrt(std::max(0.0, left) / static_cast<double>(last - first))};
}

bool same_crosstalk(const ComplexEstimate& a, const ComplexEstimate& b, double sample_rad) {
  const double larger = std::max(std::abs(a.value), std::abs(b.value));
  const double most = kSlipSameCrosstalk * larger + 3 * std::hypot(std::hypot(a.u_re, a.u_im), std::hypot(b.u_re, b.u_im));
  if (most > kSlipMostDoubt * larger) return false;
  for (const double samples : {-1.0, 0.0, 1.0}) {
    if (std::abs(b.value - a.value * std::polar(1.0, samples * sample_rad)) <= most) return true;
  }
  return false;
}

bool may_be_one(const HeardPassage& a, const HeardPassage& b) {
  const Passage& first = a.passage;
  const Passage& second = b.passage;
  if (first.driven == Driven::kBoth || second.driven == Driven::kBoth || first.driven == second.driven) return false;
  return std::abs(second.start_s - first.end_s) <= kSlipMostApart_s &&
         std::abs(*first.frequency_hz - *second.frequency_hz) <= kSlipSamePitch * *first.frequency_hz;
}

/// The moment of the slip between two passages, if they are one tone.
OptionalNumber slip_between(AudioSource& source, const HeardPassage& before, const HeardPassage& after) {
  if (!may_be_one(before, after)) return std::nullopt;
  const double rate = source.info().sample_rate_hz;
  const double step_rad = 2.0 * std::numbers::pi * *before.passage.frequency_hz / rate;
  if (!same_crosstalk(before.ratio, after.ratio, step_rad)) return std::nullopt;
  const Around a = around(source, 0.5 * (before.passage.end_s + after.passage.start_s));
  const std::size_t driven = before.passage.driven == Driven::kLeft ? 0 : 1;
  const std::size_t change = change_of(a, driven);
  const std::size_t reach = numeric::at_least_one(kSlipPeriods * rate / *before.passage.frequency_hz);
  if (change < reach || change + reach > a.frames()) return std::nullopt;
  const Sine first = sine_of(a, driven, change - reach, change, change, step_rad);
  const Sine second = sine_of(a, 1 - driven, change, change + reach, change, step_rad);
  const double larger = std::max(std::abs(first.amplitude), std::abs(second.amplitude));
  const bool one_level = std::abs(std::abs(first.amplitude) - std::abs(second.amplitude)) <= kSlipSameLevel * larger;
  const double phase_rad = std::abs(std::arg(second.amplitude * std::conj(first.amplitude)));
  const bool clean = std::max(first.residual, second.residual) <= kSlipMostResidual * larger;
  if (!(larger > 0) || !one_level || !clean || phase_rad > kSlipMostSamples * step_rad + kSlipMostPhase_rad) return std::nullopt;
  return static_cast<double>(a.first + static_cast<std::int64_t>(change)) / rate;
}

}  // namespace

OptionalNumber delay_jump_s(const InnerFrames& inner, double frequency_hz, double sample_rate_hz) {
  const std::size_t margin = kSlipReachFrames + kSlipSpoiltFrames;
  if (inner.driven.size() < 2 * margin + 1) return std::nullopt;
  const double sample_rad = 2.0 * std::numbers::pi * frequency_hz / sample_rate_hz;
  const std::vector<Complex> sums = phase_sums(inner);
  std::size_t most = 0;
  double largest_rad = 0;
  for (std::size_t f = margin; f + margin < sums.size(); ++f) {
    const double rad = std::abs(sides_of(sums, f, kSlipReachFrames).jump_rad());
    if (rad > largest_rad) largest_rad = rad, most = f;
  }
  if (most == 0) return std::nullopt;
  const Sides wide = sides_of(sums, most, kSlipReachFrames);
  const Sides near = sides_of(sums, most, kSlipNearFrames);
  // Frames overlap by three quarters, so only a quarter of them are independent.
  const double u_rad = wide.scatter_rad() * std::sqrt(2.0 * 4.0 / static_cast<double>(kSlipReachFrames));
  const bool sure = largest_rad > kJumpStandsOut * u_rad;
  if (!sure || !wide.is_one_sample(sample_rad, kSlipOneSample) || !near.is_one_sample(sample_rad, kSlipNearOneSample)) return std::nullopt;
  return inner.middle_s[most];
}

std::vector<ChannelSlip> channel_slips(AudioSource& source, const std::vector<HeardPassage>& passages) {
  std::vector<ChannelSlip> slips;
  for (std::size_t p = 0; p < passages.size(); ++p) {
    const double start_s = passages[p].passage.start_s;
    if (passages[p].delay_jump_s) slips.push_back({start_s, *passages[p].delay_jump_s});
    if (p + 1 == passages.size()) continue;
    if (const OptionalNumber at_s = slip_between(source, passages[p], passages[p + 1])) slips.push_back({start_s, *at_s});
  }
  return slips;
}

Warnings slip_warnings(const std::vector<ChannelSlip>& slips) {
  if (slips.empty()) return {};
  const std::string more = slips.size() == 1 ? "" : ", and at " + base::counted(slips.size() - 1, "more place");
  return {
      {WarningCode::kChannelsSlipped,
       fmt::format("passage at {:.1f} s: its channels shift by one sample against each other at {:.3f} s{}. Either the recorder lost or "
                   "doubled a sample of one channel, which swaps left and right from there on, or the record's bands follow each other "
                   "without a gap. The passages are reported as the file has them. Capture again. If the warning is then at the same "
                   "place, the record causes it. Otherwise discard this recording and check the recorder's buffer.",
                   slips.front().passage_start_s, slips.front().at_s, more)}};
}

}  // namespace evenwall::internal::measure
