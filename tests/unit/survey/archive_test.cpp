// SPDX-License-Identifier: GPL-3.0-or-later
#include "survey/archive.hpp"

#include "support/catch.hpp"
#include "support/invented_archive.hpp"

using namespace evenwall;
using namespace evenwall::internal::survey;

namespace {

bool says(const Archive& archive, WarningCode code, const std::string& part) {
  for (const Warning& w : archive.warnings) {
    if (w.code == code && w.message.find(part) != std::string::npos) return true;
  }
  return false;
}

}  // namespace

TEST_CASE("Records are record and side") {
  auto a = archived_tilt("A", "R", 1), b = archived_tilt("A", "R", 2), c = archived_tilt("B", "R", 3);
  a.record_side = "1", b.record_side = "2", c.record_side = "2";
  const Archive archive = archived({c, b, a});
  REQUIRE(archive.records.size() == 2);
  CHECK(archive.records[0].shown() == "R, side 1");
  CHECK(archive.cartridges == std::vector<std::string>{"A", "B"});
  CHECK(archive.cartridge == std::vector<int>{0, 0, 1});
  CHECK(archive.record == std::vector<int>{0, 1, 1});
}

TEST_CASE("Certain copies count once, doubtful ones each; both are named") {
  auto a = archived_tilt("A", "R", 0.123456789), b = a;
  b.name = "again";
  CHECK(archived({a, b}).solutions.size() == 1);
  CHECK(says(archived({a, b}), WarningCode::kDuplicateSolution, "again (as A on R)") !=
        says(archived({a, b}), WarningCode::kDuplicateSolution, "A on R (as again)"));
  a.least_crosstalk_deg = b.least_crosstalk_deg = 0.12;
  CHECK(archived({a, b}).solutions.size() == 2);
  CHECK(says(archived({a, b}), WarningCode::kDuplicateSolution, "perhaps by chance"));
  a.date = b.date = "2026-05-14";
  CHECK(archived({a, b}).solutions.size() == 1);
  b.date = "2026-05-15";
  CHECK(archived({a, b}).solutions.size() == 2);
  CHECK(archived({a, b}).warnings.empty());
}

TEST_CASE("Without a cartridge, or without a record among others that have one, a solution is left out and named") {
  auto a = archived_tilt("A", "R", 1), b = archived_tilt("B", "R", 2), c = archived_tilt("C", "R", 3);
  b.cartridge.reset();
  c.record.reset();
  const Archive archive = archived({a, b, c});
  CHECK(archive.solutions.size() == 1);
  CHECK(says(archive, WarningCode::kIncompleteSolution, "B on R: session.cartridge is missing"));
  CHECK(says(archive, WarningCode::kIncompleteSolution, "C on R: session.record is missing"));
  a.record.reset();
  CHECK(archived({a, c}).records.at(0).shown() == "(not named)");
}

TEST_CASE("Parts are what cartridges join") {
  const Archive archive = archived({archived_tilt("A", "R1", 1), archived_tilt("A", "R3", 1.5), archived_tilt("B", "R2", 2),
                                    archived_tilt("C", "R3", 3), archived_tilt("C", "R4", 4)});
  CHECK(parts_of(archive) == std::vector<int>{1, 2, 1, 1});
}

TEST_CASE("Long lists of names are cut") {
  CHECK(listed({"a", "b"}) == "a, b");
  CHECK(listed({"a", "b", "c", "d", "e", "f", "g"}) == "a, b, c, d, e and 2 more");
}

TEST_CASE("What is kept is numbered anew") {
  const Archive archive = archived({archived_tilt("A", "R", 1), archived_tilt("B", "S", 2), archived_tilt("C", "S", 3)});
  const Archive kept = kept_of(archive, {false, true, true});
  CHECK(kept.cartridges == std::vector<std::string>{"B", "C"});
  CHECK(kept.record == std::vector<int>{0, 0});
}
