// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/usage_suggestion.hpp"

#include "app/options.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"

using namespace evenwall::internal::app;

namespace {

/// The message about this command line, which is refused.
std::string complaint(std::vector<const char*> words) {
  words.insert(words.begin(), "evenwall");
  const CommandLine told = parse_command_line(static_cast<int>(words.size()), words.data());
  REQUIRE(std::holds_alternative<Farewell>(told));
  CHECK(std::get<Farewell>(told).exit_status == kExitUsage);
  return std::get<Farewell>(told).complaint;
}

}  // namespace

TEST_CASE("A wrong command suggests the nearest one") {
  CHECK(holds(complaint({"slove", "session"}), "The nearest command is solve. See evenwall --help."));
  CHECK(holds(complaint({"meazure"}), "The nearest command is measure."));
  CHECK(holds(complaint({"Solve", "session", "--json"}), "The nearest command is solve."));
  CHECK_FALSE(holds(complaint({"conjure"}), "nearest"));
}

TEST_CASE("A wrong option suggests the nearest one of its command") {
  CHECK(holds(complaint({"measure", "a.wav", "--frequncy", "1000"}), "The nearest option is --frequency. See evenwall --help."));
  CHECK(holds(complaint({"measure", "a.wav", "--tilt=1"}), "nearest option is --tilt-"));
  CHECK(holds(complaint({"solve", "s", "--guage-u=0.05"}), "The nearest option is --gauge-u."));
  CHECK(holds(complaint({"solve", "s", "--JSON"}), "The nearest option is --json."));
  CHECK_FALSE(holds(complaint({"calibrate", "a.wav", "--frequency", "1000"}), "nearest"));  // calibrate has none, and nothing like it
  CHECK_FALSE(holds(complaint({"solve", "s", "--moonlight"}), "nearest"));
}

TEST_CASE("Values and other errors suggest nothing") {
  CHECK_FALSE(holds(complaint({"measure", "a.wav", "--tilt-deg", "x"}), "nearest"));
  CHECK_FALSE(holds(complaint({"measure"}), "nearest"));
}
