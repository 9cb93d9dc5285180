// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/passed_frames.hpp"

#include <cmath>
#include <random>
#include <vector>

#include "support/catch.hpp"
#include "unit/audio/example_audio.hpp"

using evenwall::internal::audio::PassedFrames;

namespace {

std::vector<std::int32_t> with_extremes(unsigned bits, std::vector<std::int32_t> samples) {
  const std::int32_t most = (1 << (bits - 1)) - 1;
  samples.front() = -most - 1;
  samples[samples.size() / 2] = most;
  return samples;
}

/// Holds every frame that was ever kept, for comparison.
struct Everything {
  std::vector<std::int32_t> left, right;
  void add(PassedFrames& passed, const std::vector<std::int32_t>& l, const std::vector<std::int32_t>& r) {
    REQUIRE(passed.keep(l.data(), r.data(), static_cast<std::int64_t>(l.size())));
    left.insert(left.end(), l.begin(), l.end());
    right.insert(right.end(), r.begin(), r.end());
  }
  /// Whether the frames kept from frame `from` on are those that were given.
  [[nodiscard]] bool equals(const PassedFrames& passed, std::int64_t from) const {
    std::vector<float> out(static_cast<std::size_t>(2 * (passed.next() - from)));
    for (std::int64_t at = from; at < passed.next();) {
      at += passed.read(at, passed.next() - at, 0.5F, out.data() + 2 * (at - from));
    }
    for (std::size_t i = 0; i < out.size() / 2; ++i) {
      const auto frame = static_cast<std::size_t>(from) + i;
      if (out[2 * i] != 0.5F * static_cast<float>(left[frame]) || out[2 * i + 1] != 0.5F * static_cast<float>(right[frame])) return false;
    }
    return true;
  }
};

}  // namespace

TEST_CASE("Kept frames are returned to the last bit, for any size of blocks and samples") {
  std::mt19937 random(20261128);  // seed
  constexpr std::size_t kBytes = 2'000'000;
  PassedFrames passed(kBytes);
  Everything all;
  std::uniform_int_distribution<unsigned> bits(1, 24), frames(1, 9000);
  std::int64_t least_kept = PassedFrames::kMostInBlock * 1000;
  for (int block = 0; block < 600; ++block) {
    const auto count = static_cast<std::size_t>(block % 50 == 49 ? PassedFrames::kMostInBlock : std::int64_t{frames(random)});
    const unsigned bits_left = bits(random), bits_right = bits(random);
    all.add(passed, with_extremes(bits_left, random_samples(bits_left, count, random)),
            with_extremes(bits_right, random_samples(bits_right, count, random)));
    INFO("block " << block);
    REQUIRE(passed.next() == static_cast<std::int64_t>(all.left.size()));
    REQUIRE(passed.first() <= passed.next() - static_cast<std::int64_t>(count));
    REQUIRE(all.equals(passed, passed.first()));
    if (block > 200) least_kept = std::min(least_kept, passed.next() - passed.first());
  }
  // A frame takes at most six bytes. Up to one block of the largest kind is unused at the end of the store, and one is dropped as a whole.
  CHECK(least_kept >= static_cast<std::int64_t>(kBytes / 6) - 2 * PassedFrames::kMostInBlock);
}

TEST_CASE("A frame of a tone at −12 dBFS and its crosstalk is kept in 42 bits") {
  constexpr std::size_t kBytes = 1'000'000;
  PassedFrames passed(kBytes);
  Everything all;
  std::vector<std::int32_t> left(4096), right(4096);
  for (int block = 0; block < 100; ++block) {
    for (std::size_t i = 0; i < left.size(); ++i) {
      const double sine = std::sin(0.0654 * static_cast<double>(all.left.size() + i));
      left[i] = static_cast<std::int32_t>(8388608 * 0.25 * sine);
      right[i] = static_cast<std::int32_t>(8388608 * 0.02 * sine);
    }
    all.add(passed, left, right);
  }
  CHECK(passed.next() - passed.first() >= static_cast<std::int64_t>(8 * kBytes / 42) - 2 * 4096);
  CHECK(all.equals(passed, passed.first()));
  CHECK(all.equals(passed, passed.first() + 5000));  // also from within a block
}

TEST_CASE("A restart discards all earlier frames, and many small blocks replace the oldest ones") {
  PassedFrames passed(600'000);
  Everything all;
  CHECK(passed.first() == 0);
  CHECK(passed.next() == 0);
  const std::vector<std::int32_t> some{1, -2, 3};
  passed.restart(77);
  CHECK(passed.first() == 77);
  CHECK(passed.keep(some.data(), some.data(), 3));
  CHECK(passed.first() == 77);
  CHECK(passed.next() == 80);
  const std::vector<std::int32_t> wide{0, -8388609, 0};
  CHECK_FALSE(passed.keep(wide.data(), some.data(), 3));  // 25 bits
  CHECK_FALSE(passed.keep(some.data(), wide.data(), 3));
  CHECK(passed.next() == 80);
  passed.restart(0);
  for (int block = 0; block < 5000; ++block) all.add(passed, some, some);
  CHECK(passed.next() - passed.first() == 3 * 1024);
  CHECK(all.equals(passed, passed.first()));
}
