// SPDX-License-Identifier: GPL-3.0-or-later
// Reads tables that users keep: comma, semicolon or tab; any line end; `#` comments; quotes as in RFC 4180 (2005,
// from memory).
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace evenwall::internal::tables {

struct CsvRow {
  int line = 0;  ///< line of the file at which the row starts; 1 is the first
  std::vector<std::string> fields;
  std::string fault;  ///< the fault of the quotes; empty if they are correct
};

/// Removes empty fields from the end of a row until it has this number of fields: separators at the end of a line add no columns.
void drop_empty_columns(CsvRow& row, std::size_t columns);

/// Reads the rows of a table one after the other, so that only one of them is held besides the text. The separator is the same in the
/// whole file: the one that occurs most often in the header row. Requires: `text` outlives the object.
class CsvRows {
 public:
  /// The position of a row in the text, to read it again.
  struct Position {
    std::uint32_t at = 0;  ///< bytes from the start
    std::int32_t line = 0;
  };

  /// Throws: Error(kInput) for UTF-16, for a missing header row, and as next() does.
  CsvRows(std::string_view text, std::string name);
  [[nodiscard]] char separator() const { return separator_; }
  [[nodiscard]] const CsvRow& header() const { return header_; }
  /// Returns the next row that has content; nothing at the end. Throws: Error(kInput) for a quote that is never closed (with its line), a
  /// line over 64 KiB, or more than 100,000 rows.
  std::optional<CsvRow> next();
  /// The position of the row that next() returned last.
  [[nodiscard]] Position position() const { return last_; }
  /// Reads the row at that position again.
  [[nodiscard]] CsvRow row_at(Position position) const;

 private:
  struct Cursor {
    std::size_t at = 0;
    int line = 0;  ///< lines read so far
  };
  std::optional<std::string_view> next_line(Cursor& cursor) const;
  CsvRow read_row(std::string_view line, Cursor& cursor) const;

  std::string_view text_;
  std::string name_;
  char separator_ = ',';
  CsvRow header_;
  Cursor cursor_;
  Position last_;
  std::size_t rows_ = 0;
};

}  // namespace evenwall::internal::tables
