// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/page.hpp"

#include <sstream>

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

std::size_t widest_line(const std::string& text) {
  std::istringstream lines(text);
  std::size_t widest = 0;
  for (std::string line; std::getline(lines, line);) widest = std::max(widest, display_columns(line));
  return widest;
}

}  // namespace

TEST_CASE("a long name is cut in its middle, because the ends of names differ") {
  CHECK(shortened_inside("captures/step-01.wav", 20) == "captures/step-01.wav");
  CHECK(shortened_inside("captures/step-01.wav", 15) == "capture…-01.wav");
  CHECK(shortened_inside("captures/step-01.wav", 16) == "captures…-01.wav");
  CHECK(shortened_inside("abcdef", 2) == "a…");
  CHECK(shortened_inside("音音音音音音", 8) == "音音…音");  // a wide character does not fit into the tail's last column
  for (std::size_t columns = 1; columns < 30; ++columns)
    CHECK(display_columns(shortened_inside("a音é°b音c音音d±e音f音", columns)) <= columns);
}

TEST_CASE("wide and combining code points count as terminals show them") {
  CHECK(display_columns("音盤") == 4);
  CHECK(display_columns("e\u0301") == 1);
  CHECK(display_columns("針\U0001F3B5ß") == 5);
  CHECK(shortened("音盤音盤", 6) == "音盤…");
  Page page(Ink::kPlain);
  page.table({{{"capture", "level"}, {"音盤", "-30.0 dB"}}});
  CHECK(page.text() == "  capture     level\n  音盤     -30.0 dB\n");
}

TEST_CASE("the columns of a text are its code points and not its bytes") {
  CHECK(display_columns("±1°") == 3);
  CHECK(shortened("±1°±", 3) == "±1…");
  CHECK(shortened("abc", 3) == "abc");
  CHECK(shortened("abc", 0).empty());
}

TEST_CASE("paragraphs wrap at the edge of the page, and their lines are indented below the mark") {
  Page page(Ink::kPlain);
  std::string words;
  for (int i = 0; i < 60; ++i) words += "word ";
  page.paragraph(words + std::string(100, 'x'), "  - ");
  CHECK(widest_line(page.text()) <= kPageColumns);
  CHECK(widest_line(page.text()) > kPageColumns - 8);
  CHECK(page.text().starts_with("  - word"));
  CHECK(page.text().find("\n    word") != std::string::npos);
}

TEST_CASE("tables align their columns and cut long names to fit the page") {
  Page page(Ink::kPlain);
  page.table({{{"name", "a", "words"}, {"x", "10.0", "left"}, {"ab", "9.0", ""}}, true});
  CHECK(page.text() == "  name     a  words\n  x     10.0  left\n  ab     9.0\n");
  Page wide(Ink::kPlain);
  wide.table({{{"capture", "level"}, {std::string(200, 'n'), "-30.0 dB"}}});
  CHECK(widest_line(wide.text()) == kPageColumns);
}

TEST_CASE("only a coloured page holds escape sequences") {
  for (const Ink ink : {Ink::kPlain, Ink::kColour}) {
    Page page(ink);
    page.answer("answer");
    page.heading("heading");
    CHECK((page.text().find('\x1b') != std::string::npos) == (ink == Ink::kColour));
  }
}
