// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/survey.hpp"

#include <algorithm>
#include <cmath>

#include "evenwall/error.hpp"
#include "support/catch.hpp"
#include "support/invented_archive.hpp"

using namespace evenwall;

namespace {

bool warned(const Survey& s, WarningCode code) {
  return std::any_of(s.warnings.begin(), s.warnings.end(), [&](const Warning& w) { return w.code == code; });
}

double rms_cartridge_error(const Survey& s, const InventedArchive& truth) {
  double squares = 0;
  for (std::size_t i = 0; i < s.cartridges.size(); ++i)
    squares += std::pow(s.cartridges[i].tilt_deg - truth.mean_deg - truth.cartridge_deg[i], 2);
  return std::sqrt(squares / static_cast<double>(s.cartridges.size()));
}

}  // namespace

// Required: cutting-azimuth errors within 0.03° and cartridges within 0.05° rms, if a solution has an error of 0.03°. A cutting-azimuth
// error rests on 40 solutions (0.03°/√40 and what the cartridges add, near 0.006°), a cartridge on two (0.021°).
TEST_CASE("Sixty cartridges, each on two of three records, give cutting-azimuth errors and tilts within their bounds") {
  for (unsigned seed = 1; seed <= 20; ++seed) {
    CAPTURE(seed);
    const InventedArchive truth = invented_archive(60, 3, 2, 0.03, seed);
    const Survey s = survey(truth.solutions, {});
    REQUIRE(s.records.size() == 3);
    for (std::size_t j = 0; j < 3; ++j) CHECK_THAT(*s.records[j].cut_error_deg, WithinAbs(truth.record_deg[j], 0.03));
    CHECK(rms_cartridge_error(s, truth) < 0.05);
    CHECK(s.bad_solutions.empty());
  }
}

TEST_CASE("The order of the solutions does not change a bit of the survey") {
  InventedArchive a = invented_archive(20, 4, 2, 0.03, 3);
  const Survey s = survey(a.solutions, {});
  std::mt19937_64 random(1);
  std::shuffle(a.solutions.begin(), a.solutions.end(), random);
  const Survey t = survey(a.solutions, {});
  CHECK(s.mean_deg == t.mean_deg);
  CHECK(s.u_mean_deg == t.u_mean_deg);
  CHECK(s.records[2].cut_error_deg == t.records[2].cut_error_deg);
  CHECK(s.cartridges[7].u_deg == t.cartridges[7].u_deg);
}

TEST_CASE("Cutting-azimuth errors are relative to the mean of the records, so their sum is zero") {
  const Survey s = survey(invented_archive(15, 5, 3, 0.05, 5).solutions, {});
  double sum = 0;
  for (const SurveyedRecord& r : s.records) sum += *r.cut_error_deg;
  CHECK_THAT(sum, WithinAbs(0, 1e-12));
  CHECK_THAT(*s.u_records_mean_deg, WithinRel(*s.spread_deg.record / std::sqrt(5.0), 1e-12));
}

TEST_CASE("A contradicted solution is named with its residual and does not affect the others") {
  InventedArchive a = invented_archive(30, 3, 2, 0.03, 7);
  a.solutions.erase(a.solutions.begin() + 20);
  const Survey without = survey(a.solutions, {});
  a.solutions.push_back(archived_tilt("C110", "R11", 3.0));
  const Survey with = survey(a.solutions, {});
  REQUIRE(with.bad_solutions.size() == 1);
  CHECK(with.bad_solutions[0].solution == "C110 on R11");
  CHECK(std::abs(with.bad_solutions[0].standardised_residual) > 5);
  CHECK(warned(with, WarningCode::kSolutionOff));
  CHECK(with.mean_deg == without.mean_deg);
  CHECK(with.records[1].cut_error_deg == without.records[1].cut_error_deg);
}

TEST_CASE("With one record the survey gives no record effect, and warns why") {
  InventedArchive a = invented_archive(10, 1, 1, 0.03, 1);
  const InventedArchive again = invented_archive(10, 1, 1, 0.05, 1);
  a.solutions.insert(a.solutions.end(), again.solutions.begin(), again.solutions.end());
  const Survey s = survey(a.solutions, {});
  CHECK_FALSE(s.spread_deg.record);
  CHECK_FALSE(s.records.at(0).cut_error_deg);
  CHECK(warned(s, WarningCode::kOneRecord));
  CHECK(s.spread_deg.cartridge.value_or(0) > 0.2);
  CHECK(s.spread_deg.residual.value_or(9) < 0.1);
}

TEST_CASE("What the archive cannot determine is null, and a warning gives the reason") {
  const Survey once = survey({archived_tilt("A", "R", 1), archived_tilt("B", "R", 2), archived_tilt("C", "R", 4)}, {});
  CHECK_THAT(*once.spread_deg.cartridge, WithinRel(std::sqrt(7.0 / 3), 1e-9));  // the plain standard deviation
  CHECK_FALSE(once.spread_deg.residual);
  CHECK(warned(once, WarningCode::kCartridgesConfounded));
  CHECK(once.cartridges[2].tilt_deg == Approx(4));
  CHECK_FALSE(once.cartridges[2].u_deg);
  const Survey own =
      survey({archived_tilt("A", "R", 1), archived_tilt("A", "R", 1.1), archived_tilt("B", "S", 2), archived_tilt("B", "S", 2.2)}, {});
  CHECK(warned(own, WarningCode::kRecordsConfounded));
  CHECK(warned(own, WarningCode::kDisconnected));
  CHECK_FALSE(own.records[0].cut_error_deg);
  const Survey single = survey({archived_tilt("A", "R", 1), archived_tilt("A", "R", 2)}, {});
  CHECK(warned(single, WarningCode::kOneCartridge));
  CHECK(single.mean_deg == Approx(1.5));
  CHECK_THROWS_AS(survey({archived_tilt("A", "R", 1)}, {}), Error);
  CHECK_THROWS_AS(survey({}, {}), Error);
}

TEST_CASE("A drift causes a warning, and its absence does not") {
  InventedArchive a = invented_archive(40, 3, 2, 0.03, 2);
  for (std::size_t k = 0; k < a.solutions.size(); ++k) a.solutions[k].date = "20" + std::to_string(10 + k % 10) + "-06-01";
  CHECK_FALSE(warned(survey(a.solutions, {}), WarningCode::kDrift));
  for (std::size_t k = 0; k < a.solutions.size(); ++k) a.solutions[k].least_crosstalk_deg += 0.05 * static_cast<double>(k % 10);
  const Survey s = survey(a.solutions, {});
  CHECK(warned(s, WarningCode::kDrift));
  CHECK_THAT(s.drift->deg_per_year, WithinAbs(0.05, 3 * s.drift->u_deg_per_year));
}

TEST_CASE("The survey lists the equal-crosstalk tilts of each cartridge unchanged") {
  InventedArchive a = invented_archive(4, 2, 2, 0.03, 2);
  a.solutions[1].equal_crosstalk_deg = 0.7;
  const Survey s = survey(a.solutions, {});
  REQUIRE(s.cartridges[0].equal_crosstalk.size() == 1);
  CHECK(s.cartridges[0].equal_crosstalk[0].tilt_deg == 0.7);
  CHECK(s.cartridges[0].equal_crosstalk[0].record == "R11");
}
