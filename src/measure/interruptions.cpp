// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/interruptions.hpp"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "measure/method_constants.hpp"
#include "numeric/counts.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

/// Sums up the phase gained from frame to frame.
class Gains {
 public:
  explicit Gains(const std::vector<Complex>& amplitude) : until_(amplitude.size()) {
    for (std::size_t f = 1; f < amplitude.size(); ++f) {
      until_[f] = until_[f - 1] + std::arg(amplitude[f] * std::conj(amplitude[f - 1]));
    }
  }
  /// Phase gained over `reach` frames on either side, less the gain that the speed beyond them predicts. A drift of the speed cancels.
  [[nodiscard]] double excess(std::size_t middle, std::size_t reach) const {
    const double across = until_[middle + reach] - until_[middle - reach];
    const double beside = until_[middle - reach] - until_[middle - 2 * reach] + until_[middle + 2 * reach] - until_[middle + reach];
    return wrapped(across - beside);
  }

 private:
  std::vector<double> until_;
};

/// For each frame, the number of frames before it that do not have the tone's level.
std::vector<int> odd_until(const std::vector<Complex>& amplitude) {
  std::vector<double> sizes;
  for (const Complex& z : amplitude) sizes.push_back(std::abs(z));
  const double usual = numeric::median(sizes);
  std::vector<int> odd(1, 0);
  for (const double size : sizes) odd.push_back(odd.back() + (size > 0.5 * usual && size < 1.5 * usual ? 0 : 1));
  return odd;
}

/// Whether the frames on both sides contain the tone. Frames less than kJumpNearHops away are not tested, because a jump spoils them.
bool sound_on_both_sides(const std::vector<int>& odd, std::size_t f) {
  return odd[f - kJumpNearHops + 1] == odd[f - 2 * kJumpFarHops] && odd[f + 2 * kJumpFarHops + 1] == odd[f + kJumpNearHops];
}

struct Excess {
  std::size_t frame;
  double near, far;
};

double limit_of(const std::vector<Excess>& excesses, double Excess::*which) {
  std::vector<double> sizes;
  const std::size_t stride = numeric::stride_for(excesses.size(), kEnoughJumpSizes);
  for (std::size_t i = 0; i < excesses.size(); i += stride) sizes.push_back(std::abs(excesses[i].*which));
  return std::max(kLeastJump_rad, kJumpStandsOut * numeric::median(std::move(sizes)) / 0.6745);
}

}  // namespace

void SilentRuns::add(std::int64_t first, const float* block, std::int64_t frames) {
  const auto silent = [block](std::int64_t n) { return block[2 * n] == 0.0F && block[2 * n + 1] == 0.0F; };
  for (std::int64_t n = std::max<std::int64_t>(0, next_ - first); n < frames; ++n) {
    if (run_ > 0) {
      silent(n) ? static_cast<void>(++run_) : end_run(first + n);
      continue;
    }
    // A run of least_frames_ or more contains one of every least_frames_ frames, or the last. Only these are tested until one is silent.
    const std::int64_t probe = std::min(n + least_frames_, frames) - 1;
    std::int64_t start = probe + 1;
    while (start > n && silent(start - 1)) --start;
    run_ = probe + 1 - start;
    n = probe;
  }
  next_ = first + frames;
}

void SilentRuns::end_run(std::int64_t at) {
  if (run_ >= least_frames_ && runs_.size() < kMostSilences) runs_.push_back({at - run_, run_});
  run_ = 0;
}

std::int64_t least_silence_frames(double sample_rate_hz, double frequency_hz) {
  return static_cast<std::int64_t>(
      numeric::at_least_one(std::ceil(sample_rate_hz * std::max(kLeastSilence_s, kLeastSilence_periods / frequency_hz))));
}

std::vector<Interval> silences_between(const std::vector<SilentRuns::Run>& runs, double sample_rate_hz, double start_s, double end_s) {
  std::vector<Interval> silences;
  for (const SilentRuns::Run& run : runs) {
    const Interval silence{static_cast<double>(run.first) / sample_rate_hz, static_cast<double>(run.first + run.frames) / sample_rate_hz};
    if (silence[0] > start_s && silence[1] < end_s) silences.push_back(silence);
  }
  return silences;
}

std::vector<PhaseJump> phase_jumps(const std::vector<Complex>& amplitude, double first_middle_s, double hop_s) {
  std::vector<PhaseJump> jumps;
  if (amplitude.size() < 8 * kJumpFarHops) return jumps;
  const Gains gains(amplitude);
  const std::vector<int> odd = odd_until(amplitude);
  std::vector<Excess> excesses;
  for (std::size_t f = 2 * kJumpFarHops; f + 2 * kJumpFarHops < amplitude.size(); ++f) {
    if (sound_on_both_sides(odd, f)) excesses.push_back({f, gains.excess(f, kJumpNearHops), gains.excess(f, kJumpFarHops)});
  }
  if (excesses.empty()) return jumps;
  const double near_limit = limit_of(excesses, &Excess::near);
  const double far_limit = limit_of(excesses, &Excess::far);
  for (const auto& [frame, near, far] : excesses) {
    if (std::abs(near) <= near_limit || std::abs(far) <= far_limit || std::abs(wrapped(near - far)) >= kSameJump_rad) continue;
    const PhaseJump jump{first_middle_s + hop_s * static_cast<double>(frame), near};
    const bool another = jumps.empty() || jump.at_s - jumps.back().at_s > kOneJump_s;
    if (another) jumps.push_back(jump);
    if (std::abs(near) > std::abs(jumps.back().by_rad)) jumps.back() = jump;
  }
  return jumps;
}

std::vector<PhaseJump> jumps_between(const LockInFrames& frames, Driven driven, double start_s, double end_s) {
  const auto& reference = driven == Driven::kLeft ? frames.left : frames.right;
  const auto frame_at = [&](double at_s) {
    return static_cast<std::ptrdiff_t>(std::lround((at_s - frames.first_middle_s) / frames.hop_s));
  };
  const std::ptrdiff_t first = frame_at(start_s) + static_cast<std::ptrdiff_t>(kEdgeFrames);
  const std::ptrdiff_t last = frame_at(end_s) - static_cast<std::ptrdiff_t>(kEdgeFrames);
  if (last <= first) return {};
  return phase_jumps({reference.begin() + first, reference.begin() + last}, frames.middle_s(static_cast<std::size_t>(first)), frames.hop_s);
}

}  // namespace evenwall::internal::measure
