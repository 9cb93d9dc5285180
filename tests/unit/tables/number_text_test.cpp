// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/number_text.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::tables;

TEST_CASE("Decimal numbers are read with a sign, an exponent, leading zeros or spaces around them") {
  const struct {
    const char* text;
    double value;
  } cases[] = {{"1.5", 1.5},
               {"+1.5", 1.5},
               {"-1.5", -1.5},
               {" \t2 ", 2},
               {"1e3", 1000},
               {"-0", 0},
               {".5", 0.5},
               {"5.", 5},
               {"007", 7},
               {"0.1", 0.1},
               {"1E-2", 0.01},
               {"4.9e-324", 4.9e-324},
               {"1.7976931348623157e308", 1.7976931348623157e308}};
  for (const auto& c : cases) {
    INFO(c.text);
    CHECK(parse_number(c.text, DecimalMark::kPoint) == c.value);
    CHECK(parse_number(c.text, DecimalMark::kPointOrComma) == c.value);
  }
}

TEST_CASE("A comma is read as a decimal mark only if the caller permits it") {
  CHECK(parse_number("-1,5", DecimalMark::kPointOrComma) == -1.5);
  CHECK_FALSE(parse_number("-1,5", DecimalMark::kPoint));
  CHECK_FALSE(parse_number("1,234.5", DecimalMark::kPointOrComma));
  CHECK_FALSE(parse_number("1,234,5", DecimalMark::kPointOrComma));
}

TEST_CASE("A text is refused unless all of it is one finite number") {
  for (const char* text : {"",
                           " ",
                           "+",
                           "-",
                           ".",
                           ",",
                           "nan",
                           "-nan",
                           "inf",
                           "-inf",
                           "infinity",
                           "1e999",
                           "-1e999",
                           "1e-999",
                           "0x10",
                           "1.5deg",
                           "1.5°",
                           "1 2",
                           "1.5.2",
                           "--1",
                           "++1",
                           "+-1",
                           "-+1",
                           "- 1",
                           "+ 1",
                           "1e",
                           "１.5",
                           "\xe2\x88\x92"
                           "1",
                           "1\n",
                           "one"}) {
    INFO(text);
    CHECK_FALSE(parse_number(text, DecimalMark::kPoint));
    CHECK_FALSE(parse_number(text, DecimalMark::kPointOrComma));
  }
  CHECK_FALSE(parse_number(std::string_view("1\0", 2), DecimalMark::kPoint));
}
