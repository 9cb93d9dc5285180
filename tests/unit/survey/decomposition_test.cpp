// SPDX-License-Identifier: GPL-3.0-or-later
#include "survey/decomposition.hpp"

#include <cmath>

#include "support/catch.hpp"
#include "support/invented_archive.hpp"

using namespace evenwall;
using namespace evenwall::internal::survey;

TEST_CASE("Effects that the archive cannot separate are not fitted") {
  const auto bears = [](std::vector<ArchivedSolution> s) { return decomposed(archived(std::move(s)), {})->bears; };
  const Bears both = bears(invented_archive(10, 3, 2, 0.03, 1).solutions);
  CHECK((both.cartridges && both.records));
  // Each cartridge occurs once, each record several times: records are separated from the rest.
  const Bears records = bears(invented_archive(12, 3, 1, 0.03, 1).solutions);
  CHECK((!records.cartridges && records.records));
  CHECK_FALSE(decomposed(archived({archived_tilt("A", "R", 1)}), {}));
}

TEST_CASE("In archives without a wrong solution, hardly any solution is excluded") {
  int accused = 0;
  for (unsigned seed = 1; seed <= 200; ++seed)
    accused += sifted(archived(invented_archive(20, 3, 2, 0.03, seed).solutions)).bad.empty() ? 0 : 1;
  CHECK(accused <= 8);  // 2 expected at 1 %; more than 8 of 200 has probability 2e-4
}

TEST_CASE("Several wrong solutions are found, and the others are kept") {
  InventedArchive a = invented_archive(40, 4, 3, 0.03, 9);
  for (const std::size_t k : {5U, 50U, 90U}) a.solutions[k].least_crosstalk_deg += k == 50 ? -0.4 : 0.5;
  const Sifted s = sifted(archived(a.solutions));
  REQUIRE(s.bad.size() == 3);
  CHECK(s.archive.solutions.size() == 117);
  // Each cartridge has three solutions: the other two determine which one is wrong. The errors found are the planted 0.4° to 0.5°, within
  // what two solutions of 0.03° determine.
  for (const BadSolution& b : s.bad) CHECK_THAT(std::abs(b.tilt_deg - b.expected_deg), WithinAbs(0.45, 0.17));
}

TEST_CASE("At most a fifth of the solutions is excluded, and the others are kept") {
  // Each bad solution is three times as far off as the one before and is on its own cartridge: one is excluded per round, the farthest
  // first.
  const auto found_of = [](int bad) {
    auto solutions = invented_archive(15, 3, 3, 0.03, 9).solutions;
    double off_deg = 1;
    for (int i = 0; i < bad; ++i, off_deg *= 3) solutions[static_cast<std::size_t>(3 * i)].least_crosstalk_deg += off_deg;
    return sifted(archived(solutions)).bad.size();
  };
  CHECK(found_of(9) == 9);   // of 45
  CHECK(found_of(10) == 9);  // the one with the least error would be the tenth
}
