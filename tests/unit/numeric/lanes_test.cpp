// SPDX-License-Identifier: GPL-3.0-or-later
#include "numeric/lanes.hpp"

#include <cmath>
#include <limits>

#include "support/catch.hpp"
#include "support/rig.hpp"

using namespace evenwall;
using namespace evenwall::internal::numeric;

namespace {

struct Input {
  std::vector<float> samples, tables;
  std::size_t frames;
  double size = 0;  // Σ|x| of the louder channel
};

Input random_input(std::uint64_t seed) {
  rig::Draw draw(seed);
  Input in;
  in.frames = static_cast<std::size_t>(draw.uniform(0, 1025));
  const double scale = std::pow(10.0, draw.uniform(-6, 0));
  double left = 0, right = 0;
  for (std::size_t n = 0; n < in.frames; ++n) {
    in.samples.push_back(static_cast<float>(scale * draw.normal()));
    in.samples.push_back(static_cast<float>(0.01 * scale * draw.normal()));
    left += std::abs(static_cast<double>(in.samples[2 * n]));
    right += std::abs(static_cast<double>(in.samples[2 * n + 1]));
  }
  in.size = std::max(left, right);
  for (std::size_t t = 0; t < 2 * kOscillators; ++t) {
    for (std::size_t n = 0; n < in.frames; ++n) in.tables.insert(in.tables.end(), 2, static_cast<float>(draw.uniform(-1, 1)));
  }
  return in;
}

/// The same sum as a plain loop in double precision.
double slow_sum(const Input& in, std::size_t table, std::size_t channel) {
  double sum = 0;
  for (std::size_t n = 0; n < in.frames; ++n) {
    sum += static_cast<double>(in.samples[2 * n + channel]) * static_cast<double>(in.tables[2 * (table * in.frames + n)]);
  }
  return sum;
}

}  // namespace

TEST_CASE("The plain kernels equal sums computed directly, and every other set equals the plain one bit for bit") {
  for (std::uint64_t seed = 1; seed <= 1000; ++seed) {
    const Input in = random_input(seed);
    INFO("seed " << seed << ", frames " << in.frames);
    const auto plain = plain_kernels().hop_sums(in.samples.data(), in.tables.data(), in.frames).turning;
    for (std::size_t channel = 0; channel < 2; ++channel) {
      for (std::size_t m = 0; m < kOscillators; ++m) {
        // Each lane makes 128 additions in single precision, each with a random error of 6e-8.
        REQUIRE_THAT(plain[channel].cosine[m], WithinAbs(slow_sum(in, 2 * m, channel), 1e-6 * in.size));
        REQUIRE_THAT(plain[channel].sine[m], WithinAbs(slow_sum(in, 2 * m + 1, channel), 1e-6 * in.size));
      }
    }
    for (const LaneKernels* set : kernels_here()) {
      INFO(set->name);
      const auto [sums, levels] = set->hop_sums(in.samples.data(), in.tables.data(), in.frames);
      const StereoLevels alone = plain_kernels().levels(in.samples.data(), in.frames);
      REQUIRE(levels.largest == alone.largest);
      REQUIRE(levels.sum == alone.sum);
      REQUIRE(levels.finite == alone.finite);
      for (std::size_t channel = 0; channel < 2; ++channel) {
        REQUIRE(sums[channel].cosine == plain[channel].cosine);
        REQUIRE(sums[channel].sine == plain[channel].sine);
      }
    }
  }
}

TEST_CASE("Levels are the largest magnitudes and the sums, whichever set runs") {
  for (std::uint64_t seed = 1; seed <= 300; ++seed) {
    const Input in = random_input(seed);
    INFO("seed " << seed << ", frames " << in.frames);
    std::array<float, 2> largest{};
    std::array<double, 2> sum{};
    for (std::size_t i = 0; i < in.samples.size(); ++i) {
      largest[i % 2] = std::max(largest[i % 2], std::abs(in.samples[i]));
      sum[i % 2] += static_cast<double>(in.samples[i]);
    }
    const StereoLevels plain = plain_kernels().levels(in.samples.data(), in.frames);
    CHECK(plain.finite);
    for (std::size_t channel = 0; channel < 2; ++channel) {
      REQUIRE(plain.largest[channel] == largest[channel]);
      REQUIRE_THAT(plain.sum[channel], WithinAbs(sum[channel], 1e-6 * in.size));
    }
    for (const LaneKernels* set : kernels_here()) {
      const StereoLevels levels = set->levels(in.samples.data(), in.frames);
      REQUIRE(levels.largest == plain.largest);
      REQUIRE(levels.sum == plain.sum);
    }
  }
}

TEST_CASE("A sample that is not finite is detected at any position, and a sum that overflows is not taken for one") {
  for (const LaneKernels* set : kernels_here()) {
    INFO(set->name);
    for (const float bad : {std::nanf(""), std::numeric_limits<float>::infinity(), -std::numeric_limits<float>::infinity()}) {
      for (const std::size_t at : {0U, 1U, 7U, 2050U, 4094U, 4095U}) {
        std::vector<float> samples(4096, 0.25F);
        samples[at] = bad;
        CHECK_FALSE(set->levels(samples.data(), samples.size() / 2).finite);
        const std::vector<float> tables(2 * kOscillators * samples.size(), 0.5F);
        CHECK_FALSE(set->hop_sums(samples.data(), tables.data(), samples.size() / 2).levels.finite);
      }
    }
    const std::vector<float> huge(4096, 3e38F);
    CHECK(set->levels(huge.data(), huge.size() / 2).finite);
  }
}
