// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/whole_file.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <thread>

#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"
#include "unit/storage/small_medium.hpp"

using namespace evenwall;
using namespace evenwall::internal::storage;

TEST_CASE("A file is replaced as a whole and keeps its mode, and no other file remains") {
  const TempFolder folder;
  write_whole(folder / "a.json", "one");
  CHECK(folder.read("a.json") == "one");
  fs::permissions(folder / "a.json", fs::perms{0640});
  write_whole(folder / "a.json", "two");
  CHECK(folder.read("a.json") == "two");
  CHECK(fs::status(folder / "a.json").permissions() == fs::perms{0640});
  CHECK(folder.entries() == 1);
  const std::string long_name(255, 'n');  // the longest that a name may be
  write_whole(folder / long_name, "x");
  CHECK(folder.read(long_name) == "x");
}

TEST_CASE("Symbolic links are followed, also if their target does not exist") {
  const TempFolder folder;
  fs::create_directory(folder / "sub");
  fs::create_symlink("sub/target", folder / "link");
  write_whole(folder / "link", "one");
  CHECK(fs::is_symlink(folder / "link"));
  CHECK(folder.read("sub/target") == "one");
  write_whole(folder / "link", "two");
  CHECK(fs::is_symlink(folder / "link"));
  CHECK(folder.read("sub/target") == "two");
}

TEST_CASE("If a write fails, the old file stays") {
  const TempFolder folder;
  CHECK(holds(refusal_of([&] { write_whole(folder.path(), "x"); }), "this is a folder"));
  CHECK(holds(refusal_of([&] { write_whole(folder / "no/such/a", "x"); }), "No such file"));
  CHECK(holds(refusal_of([] { write_whole("/dev/full", "x"); }), "No space left"));
  write_whole("/dev/null", "x");
  write_whole(folder / "a", "old");
  std::string message;
  {
    const SmallMedium medium(1000);
    message = refusal_of([&] { write_whole(folder / "a", std::string(5000, 'x')); });
  }
  CHECK(holds(message, "File too large"));
  CHECK(folder.read("a") == "old");
  CHECK(folder.entries() == 1);
}

TEST_CASE("FIFOs are written directly") {
  const TempFolder folder;
  REQUIRE(::mkfifo((folder / "fifo").c_str(), 0600) == 0);
  std::string got;
  std::thread reader([&] { got = read_text(folder / "fifo", 100); });
  write_whole(folder / "fifo", "through");
  reader.join();
  CHECK(got == "through");
  CHECK(fs::is_fifo(folder / "fifo"));
}

TEST_CASE("A path of an open descriptor is written through the descriptor and not replaced") {
  const TempFolder folder;
  const int file = ::open(folder.write("out", "head ").c_str(), O_WRONLY | O_APPEND);
  REQUIRE(file >= 0);
  write_whole("/dev/fd/" + std::to_string(file), "tail");
  ::close(file);
  CHECK(folder.read("out") == "head tail");
  CHECK(refusal_of([&] { write_whole("/dev/fd/" + std::to_string(file), "x"); }).find("Bad file descriptor") != std::string::npos);
}

TEST_CASE("A file that is not committed leaves nothing, and one committed as new never replaces another") {
  const TempFolder folder;
  {
    WholeFile file(folder / "a.json");
    file.write("half");
    CHECK(folder.entries() <= 1);
  }
  CHECK(folder.entries() == 0);
  WholeFile first(folder / "a.json");
  WholeFile second(folder / "a.json");
  first.write("first");
  second.write("second");
  CHECK(first.commit_as_new());
  CHECK_FALSE(second.commit_as_new());
  CHECK(folder.read("a.json") == "first");
}

TEST_CASE("A first line is written only if the file does not exist yet") {
  const TempFolder folder;
  CHECK(begin_with_line(folder / "r.jsonl", "one"));
  CHECK_FALSE(begin_with_line(folder / "r.jsonl", "two"));
  CHECK_FALSE(begin_with_line(folder.path(), "two"));
  CHECK(folder.read("r.jsonl") == "one\n");
}
