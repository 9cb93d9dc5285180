// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/frequencies.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

HeardPassage tone(Driven driven, double hz, Complex ratio) {
  HeardPassage p;
  p.passage.driven = driven;
  p.passage.frequency_hz = hz;
  p.ratio = {ratio, 1e-4, 1e-4, 0};
  return p;
}

HeardBands bands(PassageKind kind, Driven driven, Complex ratio, double ln_level) {
  HeardBands h;
  h.overall.passage.kind = kind;
  h.overall.passage.driven = driven;
  for (const double centre : third_octave_centres(700, 2300)) h.bands.push_back({centre, {ratio, 2e-4, 2e-4, 0}, ln_level, 0.01, {}});
  return h;
}

}  // namespace

TEST_CASE("At the frequency of a tone, the tone takes precedence over a sweep") {
  const std::vector<HeardPassage> tones{tone(Driven::kLeft, 1003, 0.01), tone(Driven::kRight, 1003, 0.02)};
  const std::vector<HeardBands> sweeps{bands(PassageKind::kSweep, Driven::kLeft, 0.05, -2),
                                       bands(PassageKind::kSweep, Driven::kRight, 0.06, -2)};
  const auto all = heard_frequencies(tones, sweeps);
  REQUIRE(all.size() == 5);  // 794, the tone, 1259, 1585, 1995
  CHECK(all[1].tone);
  CHECK(all[1].left->ratio.value == Complex(0.01, 0));
  CHECK_FALSE(all[2].tone);
  CHECK(all[2].right->ratio.value == Complex(0.06, 0));
}

TEST_CASE("Ratios of sweeps and noise are averaged by weight, and levels are those of one kind of passage") {
  const std::vector<HeardBands> heard{bands(PassageKind::kSweep, Driven::kLeft, 0.05, -2),
                                      bands(PassageKind::kNoise, Driven::kLeft, 0.0502, -4),
                                      bands(PassageKind::kSweep, Driven::kRight, 0.06, -2.1)};
  const auto at = band_place(heard, 1100);
  REQUIRE(at);
  CHECK(at->left->passages == 2);
  CHECK(std::abs(at->left->ratio.value - 0.0501) < 1e-9);
  CHECK(at->left->ln_level == -2);
  CHECK(at->right->ln_level == -2.1);
  CHECK_FALSE(at->both);
  CHECK_FALSE(band_place(heard, 100));
  CHECK_FALSE(band_place({bands(PassageKind::kNoise, Driven::kBoth, 1.0, -2)}, 1000));  // a both-channel passage shows no crosstalk
}

TEST_CASE("If sweeps and noise both have both sides, the levels of the sweeps are used") {
  const std::vector<HeardBands> heard{
      bands(PassageKind::kNoise, Driven::kLeft, 0.05, -4), bands(PassageKind::kNoise, Driven::kRight, 0.06, -4.2),
      bands(PassageKind::kSweep, Driven::kLeft, 0.05, -2), bands(PassageKind::kSweep, Driven::kRight, 0.06, -2.1)};
  const auto at = band_place(heard, 1100);
  REQUIRE(at);
  CHECK(at->left->ln_level == -2);
  CHECK(at->right->ln_level == -2.1);
}
