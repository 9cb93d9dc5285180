// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/output.hpp"

#include <unistd.h>

#include <filesystem>
#include <fstream>

#include "evenwall/error.hpp"
#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;
namespace fs = std::filesystem;

TEST_CASE("an output is checked before the work begins, and is written whole at the end") {
  const fs::path folder = fs::temp_directory_path() / ("evenwall-output-" + std::to_string(::getpid()));
  fs::create_directories(folder);
  const fs::path input = folder / "input.wav";
  std::ofstream(input) << "audio";
  const fs::path alias = folder / "alias.wav";
  fs::create_hard_link(input, alias);
  CHECK_THROWS_AS(check_output(folder.string(), {}), Error);
  CHECK_THROWS_AS(check_output((folder / "absent/x.txt").string(), {}), Error);
  CHECK_THROWS_AS(check_output(alias.string(), {input.string()}), Error);
  CHECK_NOTHROW(check_output((folder / "x.txt").string(), {input.string(), "-"}));

  fs::create_symlink("later.json", folder / "link.json");
  CHECK(same_file((folder / "later.json").string(), (folder / "link.json").string()));
  CHECK(same_file((folder / "later.json").string(), (folder / "./later.json").string()));
  CHECK(same_file(alias.string(), input.string()));
  CHECK_FALSE(same_file((folder / "later.json").string(), (folder / "other.json").string()));
  CHECK_THROWS_AS(refuse_input_as_output(alias.string(), {"-", input.string()}), Error);

  Console console(Chatter::kQuiet);
  Output output(console, (folder / "x.txt").string());
  output.add("one\n");
  CHECK_FALSE(fs::exists(folder / "x.txt"));
  output.add("two\n");
  output.finish();
  std::ifstream written(folder / "x.txt");
  CHECK(std::string(std::istreambuf_iterator<char>(written), {}) == "one\ntwo\n");
  fs::remove_all(folder);
}
