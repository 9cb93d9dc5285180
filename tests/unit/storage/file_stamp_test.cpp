// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/file_stamp.hpp"

#include <sys/stat.h>

#include <chrono>
#include <string>
#include <vector>

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall::internal::storage;

TEST_CASE("a file has another stamp after it was written or replaced, and the same one otherwise") {
  const TempFolder folder;
  const auto path = folder.write("a", "one");
  const auto first = stamp_of(path);
  REQUIRE(first);
  CHECK(stamp_of(path) == first);
  CHECK(first->size_bytes == 3);
  folder.write("a", "longer");
  CHECK_FALSE(stamp_of(path) == first);
  const auto second = stamp_of(path);
  folder.write("b", "longer");
  std::filesystem::last_write_time(folder / "b", std::filesystem::last_write_time(path));
  std::filesystem::rename(folder / "b", path);
  CHECK_FALSE(stamp_of(path) == second);  // same size and time, but another file
}

TEST_CASE("only a regular file has a stamp") {
  const TempFolder folder;
  CHECK_FALSE(stamp_of(folder / "none"));
  CHECK_FALSE(stamp_of(folder.path()));
  REQUIRE(::mkfifo((folder / "fifo").c_str(), 0600) == 0);
  CHECK_FALSE(stamp_of(folder / "fifo"));
}

TEST_CASE("a stamp is read back from its text, and no other text is read") {
  const FileStamp stamp{{~dev_t{0}, ~ino_t{0} - 1}, 1'000'000'000'000, -5};
  CHECK(stamp_from(stamp_text(stamp)) == stamp);
  for (const char* text : {"", "none", "1 2 3", "1 2 3 4 5", "1 2 3 4 ", " 1 2 3 4", "1  2 3 4", "1 2 3 x", "-1 2 3 4"})
    CHECK_FALSE(stamp_from(text));
}

TEST_CASE("files are put in the order in which they were written") {
  const TempFolder folder;
  const auto now = std::filesystem::file_time_type::clock::now();
  const std::vector<std::string> names{"a", "b", "c", "d"};
  for (std::size_t i = 0; i < names.size(); ++i) {
    folder.write(names[i], "x");
    std::filesystem::last_write_time(folder / names[i], now - std::chrono::seconds(i < 2 ? 10 : 60 * i));
  }
  CHECK(oldest_first(folder.path(), {"b", "none", "a", "c", "d"}) == std::vector<std::string>{"d", "c", "b", "a", "none"});
}
