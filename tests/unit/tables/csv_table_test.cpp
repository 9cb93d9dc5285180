// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/csv_table.hpp"

#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"

using namespace evenwall;
using namespace evenwall::internal::tables;

namespace {

using Fields = std::vector<std::string>;

struct Table {
  char separator;
  CsvRow header;
  std::vector<CsvRow> rows;
};

/// Reads all rows, and checks that each is the same when it is read once more.
Table parse_csv(std::string_view text, const std::string& name) {
  CsvRows rows(text, name);
  Table table{rows.separator(), rows.header(), {}};
  while (auto row = rows.next()) {
    const CsvRow again = rows.row_at(rows.position());
    if (again.line != row->line || again.fields != row->fields || again.fault != row->fault) FAIL("row_at gives another row");
    table.rows.push_back(std::move(*row));
  }
  return table;
}

std::string refused(std::string_view text) {
  return refusal_of([&] { parse_csv(text, "t.csv"); });
}
const std::string kHeader = "a,b\n";

}  // namespace

TEST_CASE("A quoted field can contain separators, line ends and quotes") {
  const auto table = parse_csv("a,b\n\"x,y\",\"say \"\"hi\"\"\"\n\"\",\" kept \"\n plain , also plain \n", "t.csv");
  REQUIRE(table.rows.size() == 3);
  CHECK(table.rows[0].fields == Fields{"x,y", "say \"hi\""});
  CHECK(table.rows[1].fields == Fields{"", " kept "});
  CHECK(table.rows[2].fields == Fields{"plain", "also plain"});
  for (const CsvRow& row : table.rows) CHECK(row.fault.empty());
}

TEST_CASE("The line number of a row is that of its first line, after comments, empty lines and fields of several lines") {
  for (const char* end : {"\n", "\r\n", "\r"}) {
    std::string text = "# bench 3|a,b||1,\"two|# no comment|lines\"|  # indented|3,4";
    for (auto at = text.find('|'); at != std::string::npos; at = text.find('|')) text.replace(at, 1, end);
    INFO(text);
    const auto table = parse_csv(text, "t.csv");
    CHECK((table.header.line == 2 && table.header.fields == Fields{"a", "b"}));
    REQUIRE(table.rows.size() == 2);
    CHECK((table.rows[0].line == 4 && table.rows[0].fields == Fields{"1", "two\n# no comment\nlines"}));
    CHECK((table.rows[1].line == 8 && table.rows[1].fields == Fields{"3", "4"}));
  }
}

TEST_CASE("The header row determines the separator, and separators inside quotes do not count") {
  CHECK(parse_csv("one", "t.csv").separator == ',');
  CHECK(parse_csv("a;b;c,d\n", "t.csv").separator == ';');
  CHECK(parse_csv("a\tb\n1,2\t3\n", "t.csv").rows.at(0).fields == Fields{"1,2", "3"});
  CHECK(parse_csv("\"a,b,c,d\";e\n", "t.csv").header.fields == Fields{"a,b,c,d", "e"});
  CHECK(parse_csv("a;b\n1,5;2\n", "t.csv").rows.at(0).fields == Fields{"1,5", "2"});
}

TEST_CASE("A row with too few or too many fields is returned unchanged") {
  const auto table = parse_csv("a,b\n1\n1,2,3\n,3\n", "t.csv");
  REQUIRE(table.rows.size() == 3);
  CHECK(table.rows[0].fields == Fields{"1"});
  CHECK(table.rows[1].fields == Fields{"1", "2", "3"});
  CHECK(table.rows[2].fields == Fields{"", "3"});
}

TEST_CASE("A row without content is skipped, and separators at the end of a line can be dropped") {
  const auto table = parse_csv(",,\n \t\na,b,,\n,,,\n1,2,,\n\"\", ,\n", "t.csv");
  CHECK(table.header.fields == Fields{"a", "b", "", ""});
  REQUIRE(table.rows.size() == 1);
  CsvRow row = table.rows[0];
  CHECK(row.line == 5);
  drop_empty_columns(row, 3);
  CHECK(row.fields == Fields{"1", "2", ""});
  drop_empty_columns(row, 1);
  CHECK(row.fields == Fields{"1", "2"});
}

TEST_CASE("A stray quote makes its own row faulty, but not the next row") {
  const auto table = parse_csv("a,b\nx\"y,1\n\"x\"y,1\n\"fine\",2\n", "t.csv");
  REQUIRE(table.rows.size() == 3);
  CHECK(holds(table.rows[0].fault, "stray quote"));
  CHECK(holds(table.rows[1].fault, "stray quote"));
  CHECK(table.rows[2].fault.empty());
  CHECK(table.rows[2].fields == Fields{"fine", "2"});
  CHECK(holds(refused("a\"b,c\n1,2\n"), "line 1: the header row has a stray quote"));
}

TEST_CASE("A quote that is never closed is refused with the line that opens it") {
  CHECK(holds(refused("a,b\n1,2\n\"x,3\ny,4\n"), "t.csv: line 3 opens a quote that is never closed"));
  CHECK(holds(refused("\"a,b\n1,2\n"), "line 1 opens a quote"));
  std::string lines = "a,b\n\"x";
  for (int i = 0; i < 8; ++i) lines += "\n" + std::string(10000, 'y');
  CHECK(holds(refused(lines + "\",1\n"), "line 2 opens a quote that is not closed within 64 KiB"));
}

TEST_CASE("A table without a header row is refused, and the refusal of UTF-16 names that encoding") {
  CHECK(holds(refused(""), "no header row"));
  CHECK(holds(refused("# only\n\n  \t\n"), "no header row"));
  CHECK(holds(refused("\xff\xfe"
                      "c"),
              "UTF-16"));
  CHECK(holds(refused("\xfe\xff"
                      "c"),
              "UTF-16"));
  CHECK(parse_csv("\xef\xbb\xbf"
                  "a,b\n",
                  "t.csv")
            .header.fields == Fields{"a", "b"});
}

TEST_CASE("A table may have lines of 64 KiB and 100,000 rows, and more is refused") {
  const std::string longest(65536 - 2, 'x');
  CHECK(parse_csv(kHeader + longest + ",1\n", "t.csv").rows.at(0).fields.at(0) == longest);
  CHECK(holds(refused(kHeader + longest + "x,1\n"), "line 2 is longer than 64 KiB"));
  std::string rows = kHeader;
  for (int i = 0; i < 100000; ++i) rows += "1,2\n";
  CHECK(parse_csv(rows, "t.csv").rows.size() == 100000);
  CHECK(holds(refused(rows + "1,2\n"), "more than 100000 rows"));
}
