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
    CHECK(parse_number(c.text) == c.value);
  }
}

TEST_CASE("A comma is a decimal mark, and never separates thousands") {
  CHECK(parse_number("-1,5") == -1.5);
  CHECK_FALSE(parse_number("1,234.5"));
  CHECK_FALSE(parse_number("1,234,5"));
}

TEST_CASE("A minus sign or an en dash is read as a hyphen, but only in front") {
  CHECK(parse_number("\xe2\x88\x92"
                     "1.5") == -1.5);
  CHECK(parse_number(" \xe2\x80\x93"
                     "2,25 ") == -2.25);
  CHECK_FALSE(
      parse_number("+\xe2\x88\x92"
                   "1"));
  CHECK_FALSE(
      parse_number("\xe2\x88\x92\xe2\x88\x92"
                   "1"));
  CHECK_FALSE(parse_number("\xe2\x88\x92"));
  CHECK_FALSE(
      parse_number("1\xe2\x88\x92"
                   "1"));
}

TEST_CASE("A degree sign may follow the number of an angle, and no other number") {
  for (const char* column : {"tilt_deg", "tilt_units", "tilt_u", "right_into_left_phase_deg"}) {
    INFO(column);
    CHECK(parse_number_of(column, "-1.5\xc2\xb0") == -1.5);
    CHECK(parse_number_of(column,
                          " \xe2\x88\x92"
                          "1,5 \xc2\xb0 ") == -1.5);
    CHECK_FALSE(parse_number_of(column, "\xc2\xb0"));
    CHECK_FALSE(parse_number_of(column, "1\xc2\xb0\xc2\xb0"));
    CHECK_FALSE(parse_number_of(column,
                                "\xc2\xb0"
                                "1"));
  }
  for (const char* column : {"from_s", "u_db", "sequence"}) {
    INFO(column);
    CHECK(parse_number_of(column, "2") == 2);
    CHECK_FALSE(parse_number_of(column, "2\xc2\xb0"));
  }
}

TEST_CASE("The name of a column has no blanks around it and no capitals") {
  CHECK(column_name(" Tilt_Deg\t") == "tilt_deg");
  CHECK(column_name("capture") == "capture");
  CHECK(column_name("  ").empty());
  CHECK(column_name("\xc3\x84"
                    "B") ==
        "\xc3\x84"
        "b");  // only ASCII letters
}

TEST_CASE("A text is refused unless all of it is one finite number") {
  for (const char* text :
       {"",       " ",    "+",   "-",     ".",   ",",   "nan", "-nan", "inf", "-inf", "infinity", "1e999", "-1e999", "1e-999", "0x10",
        "1.5deg", "1.5°", "1 2", "1.5.2", "--1", "++1", "+-1", "-+1",  "- 1", "+ 1",  "1e",       "１.5",  "1\n",    "one"}) {
    INFO(text);
    CHECK_FALSE(parse_number(text));
  }
  CHECK_FALSE(parse_number(std::string_view("1\0", 2)));
}
