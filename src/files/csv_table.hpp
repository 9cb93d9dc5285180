// Tables that people keep: comma, semicolon or tab; any line end; `#` comments; quotes as in RFC 4180.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace evenwall {

struct CsvRow {
  int line = 0;  ///< of the file, where the row starts; 1 is the first
  std::vector<std::string> fields;
  std::string fault;  ///< what is wrong with the quotes; empty where nothing is
};

struct CsvTable {
  char separator = ',';
  CsvRow header;
  std::vector<CsvRow> rows;
};

/// One separator for the whole file, the one that the header row has most of.
/// Throws: Error(kInput) for UTF-16, no header row, a quote that is never closed (with its line), a line over 64 KiB, more than 100,000
/// rows.
CsvTable parse_csv(std::string_view text, const std::string& name);

}  // namespace evenwall
