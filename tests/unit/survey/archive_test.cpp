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

TEST_CASE("Each side of a record counts as a record of its own") {
  auto a = archived_tilt("A", "R", 1), b = archived_tilt("A", "R", 2), c = archived_tilt("B", "R", 3);
  a.record_side = "1", b.record_side = "2", c.record_side = "2";
  const Archive archive = archived({c, b, a});
  REQUIRE(archive.records.size() == 2);
  CHECK(archive.records[0].shown() == "R, side 1");
  CHECK(archive.cartridges == std::vector<std::string>{"A", "B"});
  CHECK(archive.cartridge == std::vector<int>{0, 0, 1});
  CHECK(archive.record == std::vector<int>{0, 1, 1});
}

TEST_CASE("Certain copies count once, possible copies count separately, and warnings name both") {
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

TEST_CASE("A solution without a cartridge, or without a record if others have one, is excluded and named") {
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

TEST_CASE("Records that share a cartridge belong to the same part of the archive") {
  const Archive archive = archived({archived_tilt("A", "R1", 1), archived_tilt("A", "R3", 1.5), archived_tilt("B", "R2", 2),
                                    archived_tilt("C", "R3", 3), archived_tilt("C", "R4", 4)});
  CHECK(parts_of(archive) == std::vector<int>{1, 2, 1, 1});
}

TEST_CASE("A long list of names is cut after five names") {
  CHECK(listed({"a", "b"}) == "a, b");
  CHECK(listed({"a", "b", "c", "d", "e", "f", "g"}) == "a, b, c, d, e and 2 more");
}

TEST_CASE("The solutions that are kept get new numbers of cartridges and records") {
  const Archive archive = archived({archived_tilt("A", "R", 1), archived_tilt("B", "S", 2), archived_tilt("C", "S", 3)});
  const Archive kept = kept_of(archive, {false, true, true});
  CHECK(kept.cartridges == std::vector<std::string>{"B", "C"});
  CHECK(kept.record == std::vector<int>{0, 0});
}
