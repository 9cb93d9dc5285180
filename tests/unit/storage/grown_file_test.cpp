// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/grown_file.hpp"

#include <sys/stat.h>

#include "evenwall/error.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::storage;

TEST_CASE("the grown file has all old bytes, the new ones and the old mode") {
  const TempFolder folder;
  const std::string old(
      "\xef\xbb\xbf"
      "a;b\r\n\0x",
      9);
  const auto path = folder.write("log", old);
  REQUIRE(::chmod(path.c_str(), 0640) == 0);
  REQUIRE(grow(path, stamp_of(path), "new\r\n"));
  CHECK(folder.read("log") == old + "new\r\n");
  struct stat status {};
  REQUIRE(::stat(path.c_str(), &status) == 0);
  CHECK((status.st_mode & 0777U) == 0640U);
  CHECK(folder.entries() == 1);
}

TEST_CASE("a file that another program has saved meanwhile does not grow") {
  const TempFolder folder;
  const auto path = folder.write("log", "old\n");
  const auto seen = stamp_of(path);
  folder.write("log", "saved\n");
  CHECK_FALSE(grow(path, seen, "new\n"));
  CHECK(folder.read("log") == "saved\n");
  CHECK_FALSE(grow(path, std::nullopt, "new\n"));     // seen as missing
  CHECK_FALSE(grow(folder / "none", seen, "new\n"));  // seen as existing
  CHECK(folder.entries() == 1);
}

TEST_CASE("a missing file is made") {
  const TempFolder folder;
  REQUIRE(grow(folder / "log", std::nullopt, "head\nrow\n"));
  CHECK(folder.read("log") == "head\nrow\n");
}

TEST_CASE("the file behind a link grows, and a write-protected file does not") {
  const TempFolder folder;
  const auto target = folder.write("target", "old\n");
  std::filesystem::create_symlink("target", folder / "log");
  REQUIRE(grow(folder / "log", stamp_of(folder / "log"), "new\n"));
  CHECK(folder.read("target") == "old\nnew\n");
  CHECK(std::filesystem::is_symlink(folder / "log"));
  REQUIRE(::chmod(target.c_str(), 0444) == 0);
  CHECK_THROWS_AS(grow(folder / "log", stamp_of(folder / "log"), "new\n"), Error);
  CHECK(folder.read("target") == "old\nnew\n");
}
