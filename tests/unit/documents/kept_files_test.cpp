// SPDX-License-Identifier: GPL-3.0-or-later
#include <sys/stat.h>

#include <sstream>
#include <thread>

#include "evenwall/error.hpp"
#include "evenwall/text_files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"
#include "unit/storage/small_medium.hpp"

using namespace evenwall;

TEST_CASE("Lines are added whole, and a torn line stays a line of its own") {
  const TempFolder folder;
  append_line(folder / "r.jsonl", "one");
  append_line(folder / "r.jsonl", "two");
  CHECK(folder.read("r.jsonl") == "one\ntwo\n");
  folder.write("t.jsonl", "one\n{\"torn");
  append_line(folder / "t.jsonl", "three");
  CHECK(folder.read("t.jsonl") == "one\n{\"torn\nthree\n");
  CHECK(holds(refusal_of([&] { append_line(folder.path(), "x"); }), "Is a directory"));
  REQUIRE(::mkfifo((folder / "fifo").c_str(), 0600) == 0);
  CHECK(holds(refusal_of([&] { append_line(folder / "fifo", "x"); }), "not a regular file"));
}

TEST_CASE("A line that the file already contains is not added again, wherever it is") {
  const TempFolder folder;
  const std::string filler(70000, 'x');  // longer than one block
  const auto path = folder.write("r.jsonl", "first\n" + filler + "\nmiddle\n" + filler + "\nlast");
  const std::string before = folder.read("r.jsonl");
  for (const char* line : {"first", "middle", "last"}) CHECK_FALSE(append_line_once(path, line));
  CHECK(folder.read("r.jsonl") == before);
  for (const char* line : {"irst", "midd", "las", "x"}) CHECK(append_line_once(path, line));
  CHECK(folder.read("r.jsonl") == before + "\nirst\nmidd\nlas\nx\n");
  CHECK(append_line_once(folder / "new.jsonl", "one"));
  CHECK_FALSE(append_line_once(folder / "new.jsonl", "one"));
}

TEST_CASE("Lines of many writers do not mix") {
  const TempFolder folder;
  std::vector<std::thread> writers;
  for (char letter = 'a'; letter < 'e'; ++letter) {
    writers.emplace_back([&folder, letter] {
      for (int i = 0; i < 25; ++i) append_line(folder / "many", std::string(5000, letter));
    });
  }
  for (auto& writer : writers) writer.join();
  std::istringstream lines(folder.read("many"));
  int count = 0;
  for (std::string line; std::getline(lines, line); ++count) REQUIRE(line == std::string(5000, line.at(0)));
  CHECK(count == 100);
}

TEST_CASE("If the medium has no room for a line, the part that was written is removed") {
  const TempFolder folder;
  const auto path = folder.write("r.jsonl", std::string(899, 'a') + "\n");
  std::string message;
  {
    const SmallMedium medium(1000);
    message = refusal_of([&] { append_line(path, std::string(500, 'b')); });
  }
  CHECK(holds(message, "r.jsonl: the file cannot be written: File too large"));
  CHECK(folder.read("r.jsonl") == std::string(899, 'a') + "\n");
}

TEST_CASE("A line end inside a line is reported as an internal error") {
  const TempFolder folder;
  try {
    append_line(folder / "r.jsonl", "one\ntwo");
    FAIL("the line was added");
  } catch (const Error& error) {
    CHECK(error.kind() == ErrorKind::kInternal);
  }
  CHECK(folder.entries() == 0);
}

TEST_CASE("A target that cannot be written is refused before the work, and no file is left") {
  const TempFolder folder;
  const auto refused = [](const std::filesystem::path& path, WriteKind kind) { return refusal_of([&] { check_writable(path, kind); }); };
  const std::string reading = "{\"schema\":\"evenwall/reading/1\"}\n";
  const auto old = folder.write("old", reading);
  for (const WriteKind kind : {WriteKind::kWhole, WriteKind::kAppend}) {
    CHECK_NOTHROW(check_writable(old, kind));
    CHECK_NOTHROW(check_writable(folder / "new", kind));
    CHECK(refused(folder.path(), kind).find("this is a folder. Name a file.") != std::string::npos);
    CHECK(refused(folder / "no/such/folder", kind).find("No such file") != std::string::npos);
  }
  CHECK_NOTHROW(check_writable("/dev/null", WriteKind::kWhole));
  CHECK(refused("/dev/null", WriteKind::kAppend).find("not a regular file") != std::string::npos);
  CHECK(folder.read("old") == reading);
  CHECK(holds(refused(folder.write("old", "old"), WriteKind::kAppend), "something other than readings"));
  CHECK(folder.entries() == 1);
}
