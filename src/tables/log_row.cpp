// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/log_row.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <vector>

#include "base/ranges.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "storage/descriptor.hpp"
#include "tables/csv_table.hpp"
#include "tables/number_text.hpp"

namespace evenwall::internal::tables {
namespace {

constexpr std::string_view kMark = "\xef\xbb\xbf";   // byte-order mark
constexpr std::string_view kMinus = "\xe2\x88\x92";  // U+2212
constexpr std::string_view kDegree = "\xc2\xb0";

struct Style {
  char separator = ',';
  std::vector<std::string> columns;
};

std::string_view bare(std::string_view text) {
  const std::size_t first = text.find_first_not_of(" \t\r\n");
  if (first == std::string_view::npos) return {};
  return text.substr(first, text.find_last_not_of(" \t\r\n") + 1 - first);
}

bool is_without_text(std::string_view log) { return bare(log.starts_with(kMark) ? log.substr(kMark.size()) : log).empty(); }

Style style_of(std::string_view log, const std::string& name) {
  if (is_without_text(log)) return {',', {"capture", "tilt_deg"}};
  CsvRows rows(log, name);
  while (rows.next()) {  // refuses a log with a quote that is never closed, which a new row would be part of
  }
  Style style{rows.separator(), {}};
  for (const std::string& field : rows.header().fields) style.columns.push_back(column_name(field));
  if (std::find(style.columns.begin(), style.columns.end(), "capture") == style.columns.end())
    storage::refuse(name, "there is no column \"capture\". Name the columns in the first row, for example capture,tilt_deg.");
  return style;
}

std::optional<std::string> tilt_column(const Style& style) {
  for (const char* column : {"tilt_deg", "tilt_units"}) {
    if (std::find(style.columns.begin(), style.columns.end(), column) != style.columns.end()) return column;
  }
  return std::nullopt;
}

std::string_view line_end_of(std::string_view log) {
  const std::size_t at = log.find_first_of("\r\n");
  if (at == std::string_view::npos || log[at] == '\n') return "\n";
  return log.substr(at).starts_with("\r\n") ? "\r\n" : "\r";
}

/// A field with quotes if it needs them. A row that begins with # would be a comment.
std::string field_of(std::string_view text, char separator) {
  const bool plain = text.find_first_of(std::string("\"\r\n") + separator) == std::string_view::npos && !text.starts_with('#') &&
                     bare(text).size() == text.size();
  if (plain) return std::string(text);
  std::string quoted = "\"";
  for (const char c : text) quoted += c == '"' ? std::string("\"\"") : std::string(1, c);
  return quoted + '"';
}

}  // namespace

std::optional<std::string> tilt_column_of(std::string_view log, const std::string& name) { return tilt_column(style_of(log, name)); }

std::string typed_tilt(std::string_view typed, const std::string& column) {
  std::string_view rest = bare(typed);
  if (rest.ends_with(kDegree)) rest = bare(rest.substr(0, rest.size() - kDegree.size()));
  std::string number;
  if (rest.starts_with(kMinus)) {
    number = "-";
    rest.remove_prefix(kMinus.size());
  }
  number += rest;
  std::replace(number.begin(), number.end(), ',', '.');
  const auto value = parse_number(number);
  if (!value) throw Error(ErrorKind::kInput, fmt::format("\"{}\" is not a number. No row was written.", base::escaped(bare(typed))));
  const base::Range& range = base::range_of("log", column);
  if (!base::in_range(range, *value))
    throw Error(ErrorKind::kInput, fmt::format("{} is {}. No row was written.", column, base::out_of_range_text(range, *value)));
  return number;
}

std::string added_row(std::string_view log, const std::string& name, std::string_view capture, std::string_view tilt) {
  const Style style = style_of(log, name);
  const std::string tilt_name = tilt_column(style).value_or("");
  const std::string_view line_end = line_end_of(log);
  std::string added;
  if (!log.empty() && log != kMark && !log.ends_with('\n') && !log.ends_with('\r')) added += line_end;
  if (is_without_text(log)) added += fmt::format("capture,tilt_deg{}", line_end);
  bool is_first = true;
  for (const std::string& column : style.columns) {
    if (!is_first) added += style.separator;
    is_first = false;
    if (column == "capture") added += field_of(capture, style.separator);
    if (column == tilt_name) added += field_of(tilt, style.separator);
  }
  added += line_end;
  return added;
}

}  // namespace evenwall::internal::tables
