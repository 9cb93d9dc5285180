// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/noise_passages.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "measure/method_constants.hpp"
#include "numeric/robust_regression.hpp"

namespace evenwall::internal::measure {
namespace {

/// A block and the index of its first look. It is empty, with fullness −100, if part of it belongs to another passage.
struct Block {
  std::size_t first = 0;  ///< look
  OctaveBlock octaves;
  std::optional<Driven> driven;
};

class NoiseFinder {
 public:
  NoiseFinder(const OctaveScan& scan, const std::vector<Span>& taken) : scan_(scan), taken_(taken), octaves_(scan.octaves()) {}

  std::vector<NoiseStretch> stretches() {
    std::vector<NoiseStretch> found;
    if (octaves_ < 4) return found;
    std::vector<Block> run;
    for (std::size_t index = 0; index < scan_.blocks().size(); ++index) {
      const Block block = block_at(index);
      const std::size_t first = block.first;
      const bool joins = block.driven && (run.empty() || like(run, block));
      if (joins) run.push_back(block);
      // Up to three blocks that do not fit, but in which no octave is clearly weaker, are clicks. Any other such block ends the passage.
      const bool clicks =
          !run.empty() && !joins && first - run.back().first <= kNoiseMostClickBlocks * kOctaveBlockFrames && none_quieter(run, block);
      if (!run.empty() && !joins && !clicks) {
        finish(run, found);
        run.clear();
        if (block.driven) run.push_back(block);
      }
    }
    finish(run, found);
    return found;
  }

 private:
  [[nodiscard]] bool is_taken(double time_s) const {
    return std::any_of(taken_.begin(), taken_.end(), [&](const Span& s) { return time_s >= s.start_s && time_s <= s.end_s; });
  }

  [[nodiscard]] Block block_at(std::size_t index) const {
    Block block;
    block.first = index * kOctaveBlockFrames;
    for (std::size_t f = block.first; f < block.first + kOctaveBlockFrames; ++f) {
      if (is_taken(scan_.middle_s(f))) return block;
    }
    block.octaves = scan_.blocks()[index];
    if (block.octaves.fullness >= kNoiseLeastFullness) block.driven = driven_of(block.octaves);
    return block;
  }

  [[nodiscard]] std::optional<Driven> driven_of(const OctaveBlock& block) const {
    std::size_t left = 0, right = 0, alike = 0;
    double power = 0;
    for (std::size_t o = 0; o < octaves_; ++o) {
      const double ahead_db = block.left_db[o] - block.right_db[o];
      if (std::abs(ahead_db) > kNoiseNoCrosstalk_db) return std::nullopt;
      left += ahead_db > kBandDrivenAhead_db ? 1 : 0;
      right += ahead_db < -kBandDrivenAhead_db ? 1 : 0;
      alike += std::abs(ahead_db) < kNoiseAlike_db && block.shared[o] > kNoiseCoherence ? 1 : 0;
      power += std::pow(10.0, 0.1 * std::max(block.left_db[o], block.right_db[o]));
    }
    if (std::sqrt(power) < kNoiseQuietest_rms) return std::nullopt;
    if (left == octaves_) return Driven::kLeft;
    if (right == octaves_) return Driven::kRight;
    if (alike == octaves_) return Driven::kBoth;
    return std::nullopt;
  }

  [[nodiscard]] bool like(const std::vector<Block>& run, const Block& block) const {
    if (*block.driven != *run.front().driven) return false;
    for (std::size_t o = 0; o < octaves_; ++o) {
      double loud_db = 0, quiet_db = 0;
      const auto loud = [&](const Block& b) { return static_cast<double>(std::max(b.octaves.left_db[o], b.octaves.right_db[o])); };
      const auto quiet = [&](const Block& b) { return static_cast<double>(std::min(b.octaves.left_db[o], b.octaves.right_db[o])); };
      for (const Block& b : run) {
        loud_db += loud(b) / static_cast<double>(run.size());
        quiet_db += quiet(b) / static_cast<double>(run.size());
      }
      // Crosstalk varies with the lean of a warped groove, so the limit of the undriven channel is twice as wide.
      if (std::abs(loud(block) - loud_db) > kNoiseSteady_db || std::abs(quiet(block) - quiet_db) > 2 * kNoiseSteady_db) return false;
    }
    return true;
  }

  [[nodiscard]] bool none_quieter(const std::vector<Block>& run, const Block& block) const {
    const OctaveBlock& before = run.back().octaves;
    const OctaveBlock& now = block.octaves;
    for (std::size_t o = 0; o < octaves_; ++o) {
      if (std::max(now.left_db[o], now.right_db[o]) < std::max(before.left_db[o], before.right_db[o]) - 2 * kNoiseSteady_db) return false;
    }
    return now.fullness > -100;
  }

  void finish(const std::vector<Block>& run, std::vector<NoiseStretch>& found) const {
    if (run.size() < kNoiseLeastBlocks || !hangs_together(run) || !keeps_still(run)) return;
    double level_db = 0;
    const Driven driven = *run.front().driven;
    for (const Block& b : run) level_db += power_db(b.first + kOctaveBlockFrames / 2, driven) / static_cast<double>(run.size());
    const auto sounds = [&](std::size_t f) {
      return !is_taken(scan_.middle_s(f)) && std::abs(power_db(f, driven) - level_db) < kNoiseEdge_db;
    };
    const std::size_t first = edge(run.front().first, -1, sounds);
    const std::size_t last = edge(run.back().first + kOctaveBlockFrames - 1, +1, sounds);
    const double half_s = 0.5 * (scan_.middle_s(1) - scan_.middle_s(0));
    NoiseStretch stretch{driven, scan_.middle_s(first) - half_s, scan_.middle_s(last) + half_s};
    if (!found.empty()) stretch.start_s = std::max(stretch.start_s, found.back().end_s);
    found.push_back(stretch);
  }

  [[nodiscard]] bool hangs_together(const std::vector<Block>& run) const {
    std::size_t octaves = 0;
    for (std::size_t o = 0; o < octaves_; ++o) {
      std::vector<double> shared;
      for (const Block& b : run) shared.push_back(static_cast<double>(b.octaves.shared[o]));
      octaves += numeric::median(std::move(shared)) > kNoiseLeastCoherence ? 1 : 0;
    }
    return 2 * octaves >= octaves_;
  }

  /// Whether the run is as steady as test noise, within its blocks and from block to block.
  [[nodiscard]] bool keeps_still(const std::vector<Block>& run) const {
    std::vector<double> unrest;
    for (const Block& b : run) unrest.push_back(static_cast<double>(b.octaves.unrest));
    double wander_db = 0;
    for (std::size_t o = kFirstFull; o < octaves_; ++o) {
      double sum = 0, squares = 0;
      for (const Block& b : run) {
        const auto level_db = static_cast<double>(std::max(b.octaves.left_db[o], b.octaves.right_db[o]));
        sum += level_db;
        squares += level_db * level_db;
      }
      const auto n = static_cast<double>(run.size());
      wander_db += std::sqrt(std::max(0.0, (squares - sum * sum / n) / (n - 1))) / static_cast<double>(octaves_ - kFirstFull);
    }
    return numeric::median(std::move(unrest)) <= kNoiseMostUnrest && wander_db <= kNoiseMostWander_db;
  }

  [[nodiscard]] double power_db(std::size_t look, Driven driven) const {
    return driven == Driven::kRight ? scan_.right_power_db(look) : scan_.left_power_db(look);
  }

  template <typename Sounds>
  [[nodiscard]] std::size_t edge(std::size_t from, int step, const Sounds& sounds) const {
    std::size_t last = from;
    // The passage may have ended within this block, so go back first.
    for (std::size_t back = 0; back < kOctaveBlockFrames && !sounds(last); ++back) last -= static_cast<std::size_t>(step);
    for (std::size_t f = last, silent = 0; silent <= kNoiseBridgeFrames; f += static_cast<std::size_t>(step)) {
      if (sounds(f)) {
        last = f;
        silent = 0;
      } else {
        ++silent;
      }
      if ((step < 0 && f == 0) || (step > 0 && f + 1 >= scan_.looks())) break;
    }
    return last;
  }

  const OctaveScan& scan_;
  const std::vector<Span>& taken_;
  std::size_t octaves_;
};

}  // namespace

std::vector<NoiseStretch> find_noise(const OctaveScan& scan, const std::vector<Span>& taken) {
  return NoiseFinder(scan, taken).stretches();
}

}  // namespace evenwall::internal::measure
