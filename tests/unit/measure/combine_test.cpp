// SPDX-License-Identifier: GPL-3.0-or-later
#include "measure/combine.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::measure;

namespace {

HeardPassage passage(Driven driven, double f, Complex ratio, double u) {
  HeardPassage p;
  p.passage.driven = driven;
  p.passage.frequency_hz = f;
  p.passage.end_s = 5;
  p.ratio = {ratio, u, u, 0};
  p.ln_level = -1.5;
  p.u_ln_level = 1e-4;
  return p;
}

}  // namespace

TEST_CASE("Two passages of one tone are weighted by their variances") {
  const std::vector<HeardPassage> heard{passage(Driven::kLeft, 1000, 0.0100, 2e-4), passage(Driven::kLeft, 1002, 0.0101, 1e-4),
                                        passage(Driven::kRight, 1000, 0.5, 1e-4), passage(Driven::kLeft, 3000, 0.7, 1e-4)};
  const auto c = combine(heard, Driven::kLeft, 1000);
  REQUIRE(c);
  CHECK(c->passages == 2);
  CHECK_THAT(c->ratio.value.real(), WithinAbs((0.0100 / 4 + 0.0101) / 1.25, 1e-12));
  CHECK_THAT(c->ratio.u_re, WithinRel(1e-4 / std::sqrt(1.25), 1e-9));
  CHECK_THAT(c->ln_level, WithinRel(-1.5, 1e-12));
  CHECK_THAT(c->u_ln_level, WithinRel(1e-4 / std::sqrt(2.0), 1e-12));  // a mean of two
  CHECK_FALSE(combine(heard, Driven::kBoth, 1000));
}

TEST_CASE("A lateral and a vertical band of one frequency are not averaged: the lateral one shows the phase") {
  HeardPassage lateral = passage(Driven::kBoth, 1000, std::polar(0.98, 0.02), 1e-4),
               vertical = passage(Driven::kBoth, 1000, -std::polar(0.98, 0.03), 1e-4);
  lateral.passage.relation = Relation::kInPhase;
  vertical.passage.relation = Relation::kAntiphase;
  for (const auto& heard : {std::vector{lateral, vertical}, std::vector{vertical, lateral}}) {
    const auto c = combine(heard, Driven::kBoth, 1000);
    REQUIRE(c);
    CHECK(c->passages == 1);
    CHECK(c->ratio.value == lateral.ratio.value);
  }
  const auto alone = combine({vertical, vertical}, Driven::kBoth, 1000);
  REQUIRE(alone);
  CHECK(alone->passages == 2);
  CHECK(std::abs(alone->ratio.value - vertical.ratio.value) < 1e-12);
}

TEST_CASE("Passages that contradict each other enlarge the uncertainty by the Birge ratio") {
  const std::vector<HeardPassage> heard{passage(Driven::kLeft, 1000, 0.010, 1e-4), passage(Driven::kLeft, 1000, 0.012, 1e-4)};
  const auto c = combine(heard, Driven::kLeft, 1000);
  // chi² = 2·(0.001/1e-4)² = 200 on 2 degrees of freedom.
  CHECK_THAT(c->ratio.u_re, WithinRel(1e-4 / std::sqrt(2.0) * 10, 1e-6));
}

TEST_CASE("Tones within 3 % of each other count as one frequency") {
  const std::vector<HeardPassage> heard{passage(Driven::kLeft, 3010, 0.01, 1e-4), passage(Driven::kLeft, 1000, 0.01, 1e-4),
                                        passage(Driven::kRight, 1010, 0.01, 1e-4)};
  const auto f = tone_frequencies(heard);
  REQUIRE(f.size() == 2);
  CHECK_THAT(f[0], WithinAbs(1005, 1e-9));
  CHECK_THAT(f[1], WithinAbs(3010, 1e-9));
}
