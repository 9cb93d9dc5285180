// SPDX-License-Identifier: GPL-3.0-or-later
// Tables that people keep: comma, semicolon or tab; any line end; `#` comments; quotes as in RFC 4180.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace evenwall::internal::tables {

struct CsvRow {
  int line = 0;  ///< of the file, where the row starts; 1 is the first
  std::vector<std::string> fields;
  std::string fault;  ///< what is wrong with the quotes; empty where nothing is
};

/// The rows of a table one after the other, so that no more than one of them is held beside the text. One separator for the whole file,
/// the one that the header row has most of. `text` outlives it.
class CsvRows {
 public:
  /// Where a row stands in the text, to read it once more.
  struct Position {
    std::uint32_t at = 0;  ///< bytes from the start
    std::int32_t line = 0;
  };

  /// Throws: Error(kInput) for UTF-16, no header row, and as next().
  CsvRows(std::string_view text, std::string name);
  [[nodiscard]] char separator() const { return separator_; }
  [[nodiscard]] const CsvRow& header() const { return header_; }
  /// The next row; none at the end. Throws: Error(kInput) for a quote that is never closed (with its line), a line over 64 KiB, more than
  /// 100,000 rows.
  std::optional<CsvRow> next();
  /// Where the row that next() gave last stands.
  [[nodiscard]] Position position() const { return last_; }
  /// That row once more.
  [[nodiscard]] CsvRow row_at(Position position) const;

 private:
  struct Cursor {
    std::size_t at = 0;
    int line = 0;  ///< read so far
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
