// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/survey_input.hpp"

#include <filesystem>

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall::internal::app;

namespace {

std::string document(const std::string& cartridge, double tilt_deg) {
  return R"({"schema":"evenwall/solution/1","session":{"cartridge":")" + cartridge + R"(","model":"M"},"least_crosstalk":{"tilt_deg":)" +
         std::to_string(tilt_deg) + "}}";
}

}  // namespace

TEST_CASE("Solutions are read from files, from nested folders and from lines") {
  const TempFolder folder;
  std::filesystem::create_directories(folder / "in/deep");
  const std::string one = folder.write("one.json", document("A", 1)).string();
  folder.write("in/two.json", document("B", 2));
  folder.write("in/deep/more.jsonl", document("C", 3) + "\n" + document("D", 4) + "\n");
  folder.write("in/truth.json", R"({"schema":"evenwall/truth/1"})");
  folder.write("in/.two.json.tmp-abc", "{");
  folder.write("in/notes.txt", "none");
  const ArchiveInput archive = archive_from({one, (folder / "in").string()}, "model");
  REQUIRE(archive.solutions.size() == 4);
  CHECK(archive.solutions[0].cartridge == "A");
  CHECK(archive.solutions[3].group == "M");
  CHECK(archive.solutions[2].name.find("more.jsonl:2") != std::string::npos);
  CHECK(archive.unreadable.empty());
  REQUIRE(archive.warnings.size() == 1);
  CHECK(archive.warnings[0].code == evenwall::WarningCode::kPassedOver);
}

TEST_CASE("A file that cannot be read is named and does not affect the others") {
  const TempFolder folder;
  folder.write("good.json", document("A", 1));
  folder.write("torn.json", document("B", 2).substr(0, 60));
  folder.write("other.txt", "{}");
  const ArchiveInput archive =
      archive_from({folder.path().string(), (folder / "other.txt").string(), (folder / "absent.json").string()}, std::nullopt);
  CHECK(archive.solutions.size() == 1);
  REQUIRE(archive.unreadable.size() == 3);
  CHECK(archive.unreadable[0].find("torn.json: there is broken JSON") != std::string::npos);
  CHECK(archive.unreadable[1].find("no key \"schema\"") != std::string::npos);
  CHECK(archive.unreadable[2].find("absent.json") != std::string::npos);
  CHECK(archive.warnings.size() == 3);
}

TEST_CASE("A document that extends over several lines is read as one document") {
  const TempFolder folder;
  std::string text = document("A", 1);
  text.insert(1, "\n");
  CHECK(archive_from({folder.write("a.json", text).string()}, std::nullopt).solutions.size() == 1);
}

TEST_CASE("Line numbers count empty lines and are right after a byte-order mark") {
  const TempFolder folder;
  const std::string text = "\xEF\xBB\xBF\n" + document("A", 1) + "\n\n{\"schema\":1}\n" + document("B", 2) + "\n";
  const ArchiveInput archive = archive_from({folder.write("a.jsonl", text).string()}, std::nullopt);
  REQUIRE(archive.solutions.size() == 2);
  CHECK(archive.solutions[1].name.find("a.jsonl:5") != std::string::npos);
  REQUIRE(archive.unreadable.size() == 1);
  CHECK(archive.unreadable[0].find("a.jsonl:4") != std::string::npos);
  CHECK(archive.files == std::vector<std::string>{(folder / "a.jsonl").string()});
}
