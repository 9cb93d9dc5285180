#include "measure/noise_passages.hpp"

#include <algorithm>
#include <cmath>
#include <optional>

#include "numeric/robust_regression.hpp"

namespace evenwall {
namespace {

constexpr std::size_t kBlockFrames = 10;  // half a second: steadies an octave's level to about 0.5 dB
constexpr std::size_t kMostClickBlocks = 3;
constexpr std::size_t kLeastBlocks = 5;   // 2.5 s
constexpr double kLeastFullness = -0.85;  // noise has −0.58 in one channel; tones, voices and music lie below −1
constexpr double kSteady_db = 2.5;        // five standard deviations of the lowest octave
constexpr double kDrivenAhead_db = 6.0;   // as for tones, in every octave
constexpr double kAlike_db = 4.0;         // channels of a both-channel passage
constexpr double kShared = 0.5;           // coherence of a both-channel passage
constexpr double kLeastShared = 0.02;     // coherence of a leak with what it comes from, in half of the octaves
constexpr double kNoLeak_db = 90;         // no record separates its walls so: a channel of digital silence, not a quiet one
constexpr double kQuietest_rms = 3e-3;    // −50 dBFS of the driven channel: surface noise lies below
constexpr double kEdge_db = 3.0;
constexpr std::size_t kBridgeFrames = 6;  // 0.3 s

double db_of_power(double p) { return 10 * std::log10(std::max(p, 1e-30)); }

/// Half a second of it, medians over its frames.
struct Block {
  std::size_t first = 0;
  std::array<double, kOctaves> left_db{}, right_db{}, shared{};  // shared: coherence, 0 to 1
  double fullness = -100;
  std::optional<Driven> driven;
};

class Finder {
 public:
  Finder(const std::vector<OctaveFrame>& frames, const std::vector<Span>& taken) : frames_(frames), taken_(taken) {
    octaves_ = 0;
    for (const OctaveFrame& f : frames_) {
      while (octaves_ < kOctaves && f.left[octaves_] + f.right[octaves_] > 0) ++octaves_;
    }
  }

  std::vector<NoiseStretch> stretches() {
    std::vector<NoiseStretch> found;
    if (octaves_ < 4) return found;
    std::vector<Block> run;
    for (std::size_t first = 0; first + kBlockFrames <= frames_.size(); first += kBlockFrames) {
      const Block block = block_at(first);
      const bool joins = block.driven && (run.empty() || like(run, block));
      if (joins) run.push_back(block);
      // Blocks out of the row in which nothing went quieter are clicks; any other is the end of the passage.
      const bool clicks = !run.empty() && !joins && first - run.back().first <= kMostClickBlocks * kBlockFrames && none_quieter(run, first);
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

  [[nodiscard]] Block block_at(std::size_t first) const {
    Block block;
    block.first = first;
    std::vector<double> fullness;
    for (std::size_t f = first; f < first + kBlockFrames; ++f) {
      if (is_taken(frames_[f].middle_s)) return block;
      fullness.push_back(frames_[f].fullness);
    }
    block.fullness = median(std::move(fullness));
    for (std::size_t o = 0; o < octaves_; ++o) {
      std::vector<double> left, right;
      std::complex<double> shared = 0;
      double left_sum = 0, right_sum = 0;
      for (std::size_t f = first; f < first + kBlockFrames; ++f) {
        left.push_back(frames_[f].left[o]);
        right.push_back(frames_[f].right[o]);
        shared += std::complex<double>(frames_[f].shared[o]);
        left_sum += frames_[f].left[o];
        right_sum += frames_[f].right[o];
      }
      block.left_db[o] = db_of_power(median(std::move(left)));
      block.right_db[o] = db_of_power(median(std::move(right)));
      block.shared[o] = left_sum * right_sum > 0 ? std::norm(shared) / (left_sum * right_sum) : 0;
    }
    if (block.fullness >= kLeastFullness) block.driven = driven_of(block);
    return block;
  }

  [[nodiscard]] std::optional<Driven> driven_of(const Block& block) const {
    std::size_t left = 0, right = 0, alike = 0;
    double power = 0;
    for (std::size_t o = 0; o < octaves_; ++o) {
      const double ahead_db = block.left_db[o] - block.right_db[o];
      if (std::abs(ahead_db) > kNoLeak_db) return std::nullopt;
      left += ahead_db > kDrivenAhead_db ? 1 : 0;
      right += ahead_db < -kDrivenAhead_db ? 1 : 0;
      alike += std::abs(ahead_db) < kAlike_db && block.shared[o] > kShared ? 1 : 0;
      power += std::pow(10.0, 0.1 * std::max(block.left_db[o], block.right_db[o]));
    }
    if (std::sqrt(power) < kQuietest_rms) return std::nullopt;
    if (left == octaves_) return Driven::kLeft;
    if (right == octaves_) return Driven::kRight;
    if (alike == octaves_) return Driven::kBoth;
    return std::nullopt;
  }

  [[nodiscard]] bool like(const std::vector<Block>& run, const Block& block) const {
    if (*block.driven != *run.front().driven) return false;
    for (std::size_t o = 0; o < octaves_; ++o) {
      double loud_db = 0, quiet_db = 0;
      const auto loud = [&](const Block& b) { return std::max(b.left_db[o], b.right_db[o]); };
      const auto quiet = [&](const Block& b) { return std::min(b.left_db[o], b.right_db[o]); };
      for (const Block& b : run) {
        loud_db += loud(b) / static_cast<double>(run.size());
        quiet_db += quiet(b) / static_cast<double>(run.size());
      }
      // What leaks moves with the lean of a warped groove: half as strict there.
      if (std::abs(loud(block) - loud_db) > kSteady_db || std::abs(quiet(block) - quiet_db) > 2 * kSteady_db) return false;
    }
    return true;
  }

  [[nodiscard]] bool none_quieter(const std::vector<Block>& run, std::size_t first) const {
    const Block block = block_at(first);
    for (std::size_t o = 0; o < octaves_; ++o) {
      if (std::max(block.left_db[o], block.right_db[o]) < std::max(run.back().left_db[o], run.back().right_db[o]) - 2 * kSteady_db) {
        return false;
      }
    }
    return block.fullness > -100;
  }

  void finish(const std::vector<Block>& run, std::vector<NoiseStretch>& found) const {
    if (run.size() < kLeastBlocks || !hangs_together(run)) return;
    double level_db = 0;
    const Driven driven = *run.front().driven;
    for (const Block& b : run) level_db += db_of_power(power_of(b.first + kBlockFrames / 2, driven)) / static_cast<double>(run.size());
    const auto sounds = [&](std::size_t f) {
      return !is_taken(frames_[f].middle_s) && std::abs(db_of_power(power_of(f, driven)) - level_db) < kEdge_db;
    };
    const std::size_t first = edge(run.front().first, -1, sounds);
    const std::size_t last = edge(run.back().first + kBlockFrames - 1, +1, sounds);
    const double half_s = 0.5 * (frames_[1].middle_s - frames_[0].middle_s);
    NoiseStretch stretch{driven, frames_[first].middle_s - half_s, frames_[last].middle_s + half_s};
    if (!found.empty()) stretch.start_s = std::max(stretch.start_s, found.back().end_s);
    found.push_back(stretch);
  }

  [[nodiscard]] bool hangs_together(const std::vector<Block>& run) const {
    std::size_t octaves = 0;
    for (std::size_t o = 0; o < octaves_; ++o) {
      std::vector<double> shared;
      for (const Block& b : run) shared.push_back(b.shared[o]);
      octaves += median(std::move(shared)) > kLeastShared ? 1 : 0;
    }
    return 2 * octaves >= octaves_;
  }

  [[nodiscard]] double power_of(std::size_t frame, Driven driven) const {
    double sum = 0;
    for (std::size_t o = 0; o < octaves_; ++o) sum += driven == Driven::kRight ? frames_[frame].right[o] : frames_[frame].left[o];
    return sum;
  }

  template <typename Sounds>
  [[nodiscard]] std::size_t edge(std::size_t from, int step, const Sounds& sounds) const {
    std::size_t last = from;
    // Within a block the row may have ended already: look back first.
    for (std::size_t back = 0; back < kBlockFrames && !sounds(last); ++back) last -= static_cast<std::size_t>(step);
    for (std::size_t f = last, silent = 0; silent <= kBridgeFrames; f += static_cast<std::size_t>(step)) {
      if (sounds(f)) {
        last = f;
        silent = 0;
      } else {
        ++silent;
      }
      if ((step < 0 && f == 0) || (step > 0 && f + 1 >= frames_.size())) break;
    }
    return last;
  }

  const std::vector<OctaveFrame>& frames_;
  const std::vector<Span>& taken_;
  std::size_t octaves_ = 0;
};

}  // namespace

std::vector<NoiseStretch> find_noise(const std::vector<OctaveFrame>& frames, const std::vector<Span>& taken) {
  if (frames.size() < kLeastBlocks * kBlockFrames) return {};
  return Finder(frames, taken).stretches();
}

}  // namespace evenwall
