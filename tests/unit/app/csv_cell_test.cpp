// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/csv_cell.hpp"

#include "support/catch.hpp"

using namespace evenwall::internal::app;

TEST_CASE("A text that a spreadsheet would take for a formula is written with an apostrophe") {
  CHECK(text_cell("=1+2") == "'=1+2");
  CHECK(text_cell("@x") == "'@x");
  CHECK(text_cell("-2") == "'-2");
  CHECK(text_cell("plain") == "plain");
}

TEST_CASE("Texts with separators or quotes are quoted, and control characters are written as visible codes") {
  CHECK(text_cell("a,\"b\"") == "\"a,\"\"b\"\"\"");
  CHECK(text_cell("a;b") == "\"a;b\"");
  CHECK(text_cell("a\nb\t=c") == "a\\x0Ab\\x09=c");
}

TEST_CASE("A number is written with all its digits, and an absent value is an empty cell") {
  CHECK(number_cell(0.1 + 0.2) == "0.30000000000000004");
  CHECK(number_cell(std::nullopt).empty());
}
