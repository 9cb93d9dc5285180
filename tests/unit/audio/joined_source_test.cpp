// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/joined_source.hpp"

#include "support/catch.hpp"
#include "support/memory_source.hpp"
#include "support/refusal.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;

namespace {

constexpr double kRate_hz = 100;  // half a second of silence is 50 frames

std::unique_ptr<AudioSource> counting(int frames, float start, double rate_hz = kRate_hz) {
  std::vector<float> samples;
  for (int n = 0; n < frames; ++n) samples.insert(samples.end(), {start + static_cast<float>(n), -start - static_cast<float>(n)});
  return std::make_unique<MemorySource>(std::move(samples), rate_hz);
}

}  // namespace

TEST_CASE("Two recordings follow each other with half a second of silence between them") {
  const auto joined = joined_source({counting(30, 1), {}, {}}, {counting(20, 101), {}, {}});
  CHECK(joined->frames() == 100);
  CHECK(joined->info().duration_s == 1.0);
  CHECK(joined->info().sample_rate_hz == kRate_hz);
  std::vector<float> all(200);
  REQUIRE(joined->read(0, 100, all.data()) == 100);
  for (std::size_t n = 0; n < 100; ++n) {
    const float expected = n < 30 ? 1 + static_cast<float>(n) : n < 80 ? 0 : 101 + static_cast<float>(n - 80);
    CHECK(all[2 * n] == expected);
    CHECK(all[2 * n + 1] == -expected);
  }
}

TEST_CASE("A block may begin and end anywhere, and a read stops at the end") {
  const auto joined = joined_source({counting(30, 1), {}, {}}, {counting(20, 101), {}, {}});
  std::vector<float> all(200);
  joined->read(0, 100, all.data());
  for (std::int64_t first = 0; first < 100; first += 7) {
    std::vector<float> block(2 * 64, 9.0F);
    const std::int64_t got = joined->read(first, 64, block.data());
    REQUIRE(got == std::min<std::int64_t>(64, 100 - first));
    CHECK(std::equal(block.begin(), block.begin() + 2 * got, all.begin() + 2 * first));
  }
  float none[2];
  CHECK(joined->read(100, 1, none) == 0);
}

TEST_CASE("Stretches limit the parts, also beyond the ends of the recordings") {
  const auto joined = joined_source({counting(30, 1), 0.1, 0.15}, {counting(20, 101), 0.18, 99.0});
  CHECK(joined->frames() == 5 + 50 + 2);
  std::vector<float> all(2 * 57);
  REQUIRE(joined->read(0, 57, all.data()) == 57);
  CHECK((all[0] == 11 && all[8] == 15 && all[10] == 0 && all[110] == 119 && all[112] == 120));
  CHECK(joined_source({counting(30, 1), 5.0, 6.0}, {counting(20, 101), {}, {}})->frames() == 70);
}

TEST_CASE("Recordings of different sample rates are not joined") {
  CHECK(refusal_of([] {
          joined_source({counting(3, 1), {}, {}}, {counting(3, 1, 96000), {}, {}});
        }).find("different sample rates") != std::string::npos);
}
