#include "app/leave.hpp"

#include <sys/stat.h>

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::app;

namespace {

std::optional<Leave> leave_for(std::vector<std::string> words) {
  words.insert(words.begin(), "evenwall");
  std::vector<const char*> argv;
  for (const std::string& word : words) argv.push_back(word.c_str());
  return leave_of(parse_command_line(static_cast<int>(argv.size()), argv.data()));
}

}  // namespace

TEST_CASE("What decodes captures is left its outputs only") {
  const auto measure = leave_for({"measure", "a.wav", "-o", "out.json", "--append", "lines.jsonl"});
  REQUIRE(measure);
  CHECK(measure->outputs == std::vector<std::string>{"out.json"});
  CHECK(measure->appended == std::vector<std::string>{"lines.jsonl"});
  CHECK_FALSE(measure->temporary_folder);
  CHECK(leave_for({"measure", "a.wav"})->outputs.empty());
  CHECK(leave_for({"solve", "steps.csv", "-o", "x"})->outputs == std::vector<std::string>{"x"});
  CHECK(leave_for({"calibrate", "a.wav", "-o", "x"})->outputs == std::vector<std::string>{"x"});
}

TEST_CASE("What runs a program or makes a folder is left alone") {
  CHECK_FALSE(leave_for({"report", "a.json"}));
  CHECK_FALSE(leave_for({"simulate", "--scenario", "a.json", "-o", "x"}));
  CHECK_FALSE(leave_for({"--help"}));
}

TEST_CASE("A stream needs the temporary folder, wherever it is found") {
  CHECK(leave_for({"measure", "-"})->temporary_folder);
  const TempFolder folder;
  folder.write("a.wav", "x");
  folder.write("steps.csv", "x");
  const std::string place = folder.path().string();
  CHECK_FALSE(leave_for({"solve", place})->temporary_folder);
  CHECK_FALSE(leave_for({"solve", place + "/steps.csv"})->temporary_folder);
  REQUIRE(::mkfifo((place + "/stream.wav").c_str(), 0600) == 0);
  CHECK(leave_for({"measure", place + "/stream.wav"})->temporary_folder);
  CHECK(leave_for({"solve", place})->temporary_folder);
  CHECK(leave_for({"solve", place + "/steps.csv"})->temporary_folder);
}
