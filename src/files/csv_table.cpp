#include "files/csv_table.hpp"

#include <csv.h>
#include <fmt/format.h>

#include <algorithm>
#include <new>
#include <optional>

#include "files/descriptor.hpp"

namespace evenwall {
namespace {

constexpr std::size_t kLongestRow = 64UL << 10U;  // bytes
constexpr std::size_t kMostRows = 100000;

void collect_field(void* text, std::size_t size, void* row) {
  static_cast<CsvRow*>(row)->fields.emplace_back(static_cast<const char*>(text), size);
}

void note_end(int, void* row) { static_cast<CsvRow*>(row)->line = -1; }

/// libcsv for one row, which may go over several lines of the file.
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

/// The lines of a text, ended by LF, CRLF or CR, numbered from 1.
class Lines {
 public:
  Lines(std::string_view text, const std::string& name) : rest_(text), name_(name) {}

  std::optional<std::string_view> next() {
    if (rest_.empty()) return std::nullopt;
    ++number_;
    const std::size_t end = std::min(rest_.find_first_of("\r\n"), rest_.size());
    if (end > kLongestRow) refuse(name_, fmt::format("line {} is longer than 64 KiB; is this a step log?", number_));
    const std::string_view line = rest_.substr(0, end);
    const std::size_t ending = rest_.substr(end).starts_with("\r\n") ? 2 : 1;
    rest_.remove_prefix(std::min(end + ending, rest_.size()));
    return line;
  }
  [[nodiscard]] int number() const { return number_; }

 private:
  std::string_view rest_;
  const std::string& name_;
  int number_ = 0;
};

bool is_blank_or_comment(std::string_view line) {
  const std::size_t first = line.find_first_not_of(" \t");
  return first == std::string_view::npos || line[first] == '#';
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

CsvRow read_row(std::string_view line, Lines& lines, char separator, const std::string& name) {
  CsvRow row;
  row.line = lines.number();
  RowParser parser(separator);
  std::size_t length = line.size();
  auto state = parser.feed(line);
  while (state == RowParser::State::kInsideQuotes) {
    const auto more = lines.next();
    if (!more) refuse(name, fmt::format("line {} opens a quote that is never closed; close it", row.line));
    length += more->size();
    if (length > kLongestRow) refuse(name, fmt::format("line {} opens a quote that is not closed within 64 KiB; close it", row.line));
    state = parser.feed(*more);
  }
  row.fields = parser.take_fields();
  if (state == RowParser::State::kMisquoted) row.fault = "has a stray quote; write a quote inside a quoted field twice";
  return row;
}

std::string_view without_mark(std::string_view text, const std::string& name) {
  if (text.starts_with("\xff\xfe") || text.starts_with("\xfe\xff")) refuse(name, "is UTF-16 text; save it as UTF-8");
  if (text.starts_with("\xef\xbb\xbf")) text.remove_prefix(3);
  return text;
}

}  // namespace

CsvTable parse_csv(std::string_view text, const std::string& name) {
  Lines lines(without_mark(text, name), name);
  CsvTable table;
  while (const auto line = lines.next()) {
    if (is_blank_or_comment(*line)) continue;
    const bool is_header = table.header.line == 0;
    if (is_header) table.separator = separator_of(*line);
    CsvRow row = read_row(*line, lines, table.separator, name);
    if (is_header) {
      if (!row.fault.empty()) refuse(name, fmt::format("line {}: the header row {}", row.line, row.fault));
      table.header = std::move(row);
      continue;
    }
    if (table.rows.size() == kMostRows) refuse(name, fmt::format("more than {} rows; split it", kMostRows));
    table.rows.push_back(std::move(row));
  }
  if (table.header.line == 0) refuse(name, "no header row; the first row names the columns");
  return table;
}

}  // namespace evenwall
