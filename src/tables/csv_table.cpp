// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/csv_table.hpp"

#include <csv.h>
#include <fmt/format.h>

#include <algorithm>
#include <new>

#include "storage/descriptor.hpp"

namespace evenwall::internal::tables {
namespace {

constexpr std::size_t kLongestRow = 64UL << 10U;  // bytes
constexpr std::size_t kMostRows = 100000;

void collect_field(void* text, std::size_t size, void* row) {
  static_cast<CsvRow*>(row)->fields.emplace_back(static_cast<const char*>(text), size);
}

void note_end(int, void* row) { static_cast<CsvRow*>(row)->line = -1; }

/// Parses one row with libcsv; a row may span several lines of the file.
class RowParser {
 public:
  explicit RowParser(char separator) {
    if (csv_init(&parser_, CSV_STRICT) != 0) throw std::bad_alloc();
    csv_set_delim(&parser_, static_cast<unsigned char>(separator));
  }
  RowParser(const RowParser&) = delete;
  RowParser& operator=(const RowParser&) = delete;
  ~RowParser() { csv_free(&parser_); }

  enum class State { kInsideQuotes, kComplete, kMisquoted };

  State feed(std::string_view line) {
    for (const std::string_view part : {line, std::string_view("\n")}) {
      if (csv_parse(&parser_, part.data(), part.size(), collect_field, note_end, &row_) == part.size()) continue;
      if (csv_error(&parser_) != CSV_EPARSE) throw std::bad_alloc();
      return State::kMisquoted;
    }
    return row_.line == -1 ? State::kComplete : State::kInsideQuotes;
  }
  std::vector<std::string> take_fields() { return std::move(row_.fields); }

 private:
  csv_parser parser_{};
  CsvRow row_;
};

bool is_blank_or_comment(std::string_view line) {
  const std::size_t first = line.find_first_not_of(" \t");
  return first == std::string_view::npos || line[first] == '#';
}

/// Spreadsheets leave rows of separators where rows were cleared.
bool has_no_content(const CsvRow& row) {
  return row.fault.empty() && std::all_of(row.fields.begin(), row.fields.end(),
                                          [](const std::string& field) { return field.find_first_not_of(" \t") == std::string::npos; });
}

char separator_of(std::string_view header) {
  std::size_t most = 0;
  char separator = ',';
  for (const char candidate : {',', ';', '\t'}) {
    bool quoted = false;
    std::size_t seen = 0;
    for (const char c : header) {
      quoted ^= c == '"';
      seen += !quoted && c == candidate ? 1 : 0;
    }
    if (seen > most) separator = candidate;
    most = std::max(most, seen);
  }
  return separator;
}

std::string_view without_mark(std::string_view text, const std::string& name) {
  if (text.starts_with("\xff\xfe") || text.starts_with("\xfe\xff"))
    storage::refuse(name, "the file is UTF-16 text. It is not read. Save it as UTF-8.");
  if (text.starts_with("\xef\xbb\xbf")) text.remove_prefix(3);
  return text;
}

}  // namespace

CsvRows::CsvRows(std::string_view text, std::string name) : text_(without_mark(text, name)), name_(std::move(name)) {
  while (const auto line = next_line(cursor_)) {
    if (is_blank_or_comment(*line)) continue;
    separator_ = separator_of(*line);
    header_ = read_row(*line, cursor_);
    if (has_no_content(header_)) continue;
    if (!header_.fault.empty()) {
      storage::refuse(
          name_, fmt::format("line {}: the header row {}. Inside a quoted field, write each quote twice.", header_.line, header_.fault));
    }
    return;
  }
  storage::refuse(name_, "there is no header row. Add a first row that names the columns.");
}

std::optional<CsvRow> CsvRows::next() {
  for (;;) {
    last_ = {static_cast<std::uint32_t>(cursor_.at), cursor_.line};
    const auto line = next_line(cursor_);
    if (!line) return std::nullopt;
    if (is_blank_or_comment(*line)) continue;
    if (++rows_ > kMostRows) storage::refuse(name_, fmt::format("the table has more than {} rows. It is not read. Split it.", kMostRows));
    CsvRow row = read_row(*line, cursor_);
    if (!has_no_content(row)) return row;
  }
}

void drop_empty_columns(CsvRow& row, std::size_t columns) {
  while (row.fields.size() > columns && row.fields.back().find_first_not_of(" \t") == std::string::npos) row.fields.pop_back();
}

CsvRow CsvRows::row_at(Position position) const {
  Cursor cursor{position.at, position.line};
  const auto line = next_line(cursor);
  return read_row(line.value_or(std::string_view()), cursor);
}

/// Lines end with LF, CRLF or CR.
std::optional<std::string_view> CsvRows::next_line(Cursor& cursor) const {
  const std::string_view rest = text_.substr(cursor.at);
  if (rest.empty()) return std::nullopt;
  ++cursor.line;
  const std::size_t end = std::min(rest.find_first_of("\r\n"), rest.size());
  if (end > kLongestRow) {
    storage::refuse(name_,
                    fmt::format("line {} is longer than 64 KiB. The file is not read. Check that it is the right file.", cursor.line));
  }
  const std::size_t ending = rest.substr(end).starts_with("\r\n") ? 2 : 1;
  cursor.at += std::min(end + ending, rest.size());
  return rest.substr(0, end);
}

/// A row may span several lines of the file.
CsvRow CsvRows::read_row(std::string_view line, Cursor& cursor) const {
  CsvRow row;
  row.line = cursor.line;
  RowParser parser(separator_);
  std::size_t length = line.size();
  auto state = parser.feed(line);
  while (state == RowParser::State::kInsideQuotes) {
    const auto more = next_line(cursor);
    if (!more)
      storage::refuse(name_, fmt::format("line {} opens a quote that is never closed. The file is not read. Close the quote.", row.line));
    length += more->size();
    if (length > kLongestRow) {
      storage::refuse(
          name_, fmt::format("line {} opens a quote that is not closed within 64 KiB. The file is not read. Close the quote.", row.line));
    }
    state = parser.feed(*more);
  }
  row.fields = parser.take_fields();
  if (state == RowParser::State::kMisquoted) row.fault = "has a stray quote";
  return row;
}

}  // namespace evenwall::internal::tables
