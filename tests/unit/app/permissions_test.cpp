// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/permissions.hpp"

#include <sys/stat.h>
#include <unistd.h>

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

std::optional<Permissions> permissions_for(std::vector<std::string> words) {
  words.insert(words.begin(), "evenwall");
  std::vector<const char*> argv;
  for (const std::string& word : words) argv.push_back(word.c_str());
  return permissions_of(parse_command_line(static_cast<int>(argv.size()), argv.data()));
}

}  // namespace

TEST_CASE("A command that decodes captures is confined, and only the outputs it names can be written") {
  const auto measure = permissions_for({"measure", "a.wav", "-o", "out.json", "--append", "lines.jsonl"});
  REQUIRE(measure);
  CHECK(measure->paths.output == "out.json");
  CHECK(measure->paths.appended == "lines.jsonl");
  CHECK(measure->streams == 0);
  CHECK_FALSE(permissions_for({"measure", "a.wav"})->paths.output);
  CHECK(permissions_for({"solve", "steps.csv", "-o", "x"})->paths.output == "x");
  CHECK(permissions_for({"calibrate", "a.wav", "-o", "x"})->paths.output == "x");
}

TEST_CASE("watch is confined, gets the notices of its folder, and writes the log only if it can ask for tilts") {
  const auto watch = permissions_for({"watch", "folder"});
  REQUIRE(watch);
  CHECK(watch->watched == "folder");
  CHECK_FALSE(watch->paths.output);
  CHECK(watch->paths.log.has_value() == (::isatty(STDIN_FILENO) == 1 && ::isatty(STDOUT_FILENO) == 1));
  CHECK_FALSE(permissions_for({"watch", "folder", "--json"})->paths.log);
  CHECK_FALSE(permissions_for({"solve", "folder"})->watched);
}

TEST_CASE("A command that runs a program or makes a folder is not confined") {
  CHECK_FALSE(permissions_for({"report", "a.json"}));
  CHECK_FALSE(permissions_for({"simulate", "--scenario", "a.json", "-o", "x"}));
  CHECK_FALSE(permissions_for({"new", "x"}));
  CHECK_FALSE(permissions_for({"--help"}));
}

TEST_CASE("A stream needs a temporary copy if it is named as a file, in a log or by a dash") {
  CHECK(permissions_for({"measure", "-"})->streams == 1);
  const TempFolder folder;
  folder.write("a.wav", "x");
  folder.write("steps.csv", "x");
  const std::string place = folder.path().string();
  CHECK(permissions_for({"solve", place})->streams == 0);
  CHECK(permissions_for({"solve", place + "/steps.csv"})->streams == 0);
  REQUIRE(::mkfifo((place + "/stream.wav").c_str(), 0600) == 0);
  CHECK(permissions_for({"measure", place + "/stream.wav"})->streams == 1);
  CHECK(permissions_for({"solve", place})->streams == 1);
  CHECK(permissions_for({"solve", place + "/steps.csv"})->streams == 1);
  CHECK(permissions_for({"measure", "-", place + "/stream.wav"})->streams == 2);
}
