// SPDX-License-Identifier: GPL-3.0-or-later
#include "survey/groups.hpp"

#include "evenwall/survey.hpp"
#include "support/catch.hpp"
#include "support/invented_archive.hpp"

using namespace evenwall;
using namespace evenwall::internal::survey;

TEST_CASE("Each group has its own mean, corrected by the cutting-azimuth errors from the whole archive") {
  InventedArchive a = invented_archive(60, 4, 2, 0.02, 4);
  double truth[2] = {0, 0};
  for (std::size_t k = 0; k < a.solutions.size(); ++k) {
    const bool second = k / 2 >= 30;
    a.solutions[k].group = second ? "Thistle" : "Larkspur";
    if (second) a.solutions[k].least_crosstalk_deg += 1;
    truth[second ? 1 : 0] += (a.mean_deg + a.cartridge_deg[k / 2] + (second ? 1 : 0)) / 60;
  }
  const Survey s = survey(a.solutions, {"cartridge_model"});
  REQUIRE(s.groups.size() == 2);
  CHECK(s.grouped_by == "cartridge_model");
  CHECK(s.groups[0].name == "Larkspur");
  CHECK(s.groups[1].cartridges == 30);
  CHECK(s.groups[1].solutions == 60);
  // The true value is the mean of these thirty cartridges: the error is the sessions' 0.02° over √60 and what the
  // cutting-azimuth errors leave, near 0.005°.
  for (std::size_t g = 0; g < 2; ++g) CHECK_THAT(s.groups[g].mean_deg, WithinAbs(truth[g], 0.02));
  // 30 cartridges determine it within 13 %; three of these are allowed.
  CHECK_THAT(*s.groups[0].spread_cartridge_deg, WithinAbs(0.4, 0.16));
  CHECK(*s.groups[0].u_mean_deg > 0.4 / std::sqrt(30.0) * 0.6);
}

TEST_CASE("A group of one solution has its tilt on an error-free record and no uncertainty") {
  InventedArchive a = invented_archive(10, 2, 2, 0.02, 4);
  CHECK(survey(a.solutions, {"model"}).groups.empty());
  a.solutions[0].group = "only";
  const Survey s = survey(a.solutions, {"model"});
  REQUIRE(s.groups.size() == 1);
  CHECK_FALSE(s.groups[0].u_mean_deg);
  for (const SurveyedRecord& r : s.records) {
    if (r.record != *a.solutions[0].record) continue;
    REQUIRE(std::abs(*r.cut_error_deg) > 0.01);  // otherwise the next line would check nothing
    // A positive cutting-azimuth error makes the tilt found too high.
    CHECK_THAT(s.groups[0].mean_deg, WithinAbs(a.solutions[0].least_crosstalk_deg - *r.cut_error_deg, 1e-12));
  }
  CHECK(survey(a.solutions, {}).groups.empty());
}
