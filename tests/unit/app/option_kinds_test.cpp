// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/option_kinds.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

TEST_CASE("a number is read without the locale, with its sign, and within the range of its flag") {
  CLI::App command;
  OptionalNumber tilt;
  add_number(command, "--tilt-deg", tilt, "DEG", "");
  const auto parse = [&](std::string text) {
    tilt.reset();
    command.parse(std::vector<std::string>{std::move(text), "--tilt-deg"});
  };
  parse("+1.5");
  CHECK(tilt == 1.5);
  parse("-0.25");
  CHECK(tilt == -0.25);
  for (const char* wrong : {"1,5", "nan", "0x10", "1e9", ""}) CHECK_THROWS_AS(parse(wrong), CLI::ParseError);
}

TEST_CASE("a whole number has an upper limit") {
  CLI::App command;
  std::uint64_t seen = 0;
  add_whole_number(
      command, "--seed", 9, [&](std::uint64_t n) { seen = n; }, "");
  command.parse(std::vector<std::string>{"9", "--seed"});
  CHECK(seen == 9);
  for (const char* wrong : {"10", "-1", "1.0"}) CHECK_THROWS_AS(command.parse(std::vector<std::string>{wrong, "--seed"}), CLI::ParseError);
}
