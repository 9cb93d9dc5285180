// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/sample_faults.hpp"

#include <cmath>

#include "support/catch.hpp"
#include "support/rig.hpp"

using evenwall::internal::measure::SampleFaults;

namespace {

SampleFaults heard(double clip_at, double noise, double dc = 0) {
  rig::Draw draw(1);
  SampleFaults faults;
  for (int n = 0; n < 48'000; ++n) {
    const double x = 0.5 * std::sin(0.13 * n) + noise * draw.normal() + dc;
    faults.add(static_cast<float>(std::clamp(x, -clip_at, clip_at)));
  }
  return faults;
}

}  // namespace

TEST_CASE("Flat tops below full scale are counted, and a plain sine has no flat tops") {
  CHECK(heard(1.0, 0.001).clipped_fraction() == 0);
  // |sin| > 0.8 for 2·acos(0.8)/π = 41 % of the time; runs of less than three samples do not count.
  CHECK_THAT(heard(0.4, 0.0).clipped_fraction(), WithinAbs(0.41, 0.02));
}

TEST_CASE("Samples that are not numbers are counted separately and do not change the mean") {
  SampleFaults faults = heard(1.0, 0.0, 0.03);
  CHECK_THAT(faults.mean(), WithinAbs(0.03, 2e-4));  // 48,000 samples are not a whole number of periods
  faults.add(NAN);
  faults.add(INFINITY);
  CHECK(faults.not_finite() == 2);
  CHECK(faults.samples() == 48'002);
  CHECK_THAT(faults.mean(), WithinAbs(0.03, 2e-4));
}

TEST_CASE("The mean is correct even if the sum exceeds the range of single precision") {
  SampleFaults faults;
  std::vector<float> block(100, -3e37F);
  faults.add(3.1e37F);
  faults.add_block(block.data(), block.size(), 1, -INFINITY, 3e37F, true);
  CHECK(faults.samples() == 101);
  CHECK_THAT(faults.mean(), WithinAbs((3.1e37 - 100 * 3e37) / 101, 1e31));
}

TEST_CASE("Silence is not counted as clipping") {
  SampleFaults faults;
  for (int n = 0; n < 100; ++n) faults.add(0.0F);
  CHECK(faults.clipped_fraction() == 0);
  CHECK(SampleFaults().mean() == 0);
}

TEST_CASE("Counting block by block gives the same result as counting sample by sample") {
  for (std::uint64_t seed = 1; seed <= 100; ++seed) {
    rig::Draw draw(seed);
    const double clip = draw.uniform(0.3, 0.7);
    SampleFaults one, blocks;
    std::vector<float> samples;
    for (int n = 0; n < 5000; ++n)
      samples.push_back(static_cast<float>(std::clamp(0.5 * std::sin(0.05 * n) + 0.02 * draw.normal(), -clip, clip)));
    if (seed % 3 == 0) samples[static_cast<std::size_t>(draw.uniform(0, 4999))] = NAN;
    for (const float x : samples) one.add(x);
    for (std::size_t first = 0; first < samples.size();) {
      const auto count = std::min(samples.size() - first, static_cast<std::size_t>(draw.uniform(1, 700)));
      double sum = 0;
      float largest = 0;
      bool finite = true;
      for (std::size_t i = first; i < first + count; ++i) {
        sum += static_cast<double>(samples[i]);
        largest = std::max(largest, std::abs(samples[i]));
        finite = finite && std::isfinite(samples[i]);
      }
      blocks.add_block(samples.data() + first, count, 1, sum, largest, finite);
      first += count;
    }
    INFO("seed " << seed);
    CHECK(blocks.samples() == one.samples());
    CHECK(blocks.not_finite() == one.not_finite());
    CHECK(blocks.clipped_fraction() == one.clipped_fraction());
    CHECK_THAT(blocks.mean(), WithinAbs(one.mean(), 1e-12));  // the doubles are summed in another order
  }
}

TEST_CASE("A sine without noise is not taken for clipped where rounding makes its peaks flat, and a clipped one is") {
  using evenwall::internal::measure::longest_plateau;
  for (const double amplitude : {9.3, 150.0, 2300.4, 30000.0}) {      // in steps
    for (const double turn : {0.013, 0.0103, 0.0206, 0.026, 0.13}) {  // 0.026: 200 Hz at 48 kHz
      SampleFaults sine, clipped;
      for (int n = 0; n < 20'000; ++n) {
        const double x = amplitude * std::sin(turn * n + 0.3);
        sine.add(static_cast<float>(std::round(x)));
        clipped.add(static_cast<float>(std::round(std::clamp(x, -0.8 * amplitude, 0.8 * amplitude))));
      }
      INFO(amplitude << " steps, " << turn << " rad");
      const auto longest = longest_plateau(sine.largest(), 1, turn);
      CHECK(sine.clipped_fraction(longest) == 0);
      // The bound is no larger than needed: the longest run is at most two samples shorter, and one sample less at each end can be missed.
      if (longest > 4) CHECK(sine.clipped_fraction(longest / 2 - 2) > 0);
      const double flat = 2 * std::acos(0.8) / turn;  // samples of each flat top
      if (flat - 2 > static_cast<double>(2 * longest) && 2 * longest < 62) CHECK(clipped.clipped_fraction(2 * longest) > 0.35);
    }
  }
}

TEST_CASE("A sine no higher than a step has no clipped samples, and a step that is not known changes nothing") {
  using evenwall::internal::measure::longest_plateau;
  SampleFaults low;
  for (int n = 0; n < 1000; ++n) low.add(static_cast<float>(std::round(0.6 * std::sin(0.01 * n))));
  CHECK(low.clipped_fraction() > 0.3);
  CHECK(low.clipped_fraction(longest_plateau(low.largest(), 1, 0.01)) == 0);
  CHECK(longest_plateau(0.5, 0, 0.13) == 1);
}
