// SPDX-License-Identifier: GPL-3.0-or-later
#include "tables/log_row.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include "base/ranges.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/words.hpp"
#include "storage/descriptor.hpp"
#include "tables/csv_table.hpp"
#include "tables/number_text.hpp"
#include "tables/use_word.hpp"

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

/// Whether a log has no header row: nothing, or comments alone.
bool is_without_text(std::string_view log) {
  std::string_view rest = bare(log.starts_with(kMark) ? log.substr(kMark.size()) : log);
  while (rest.starts_with('#')) {
    const std::size_t end = rest.find_first_of("\r\n");
    rest = end == std::string_view::npos ? std::string_view() : bare(rest.substr(end));
  }
  return rest.empty();
}

Style style_of(std::string_view log, const std::string& name) {
  if (is_without_text(log)) return {',', {"capture", "tilt_deg", "use"}};
  CsvRows rows(log, name);
  while (rows.next()) {  // refuses a log with a quote that is never closed, which a new row would be part of
  }
  Style style{rows.separator(), {}};
  for (const std::string& field : rows.header().fields) style.columns.push_back(column_name(field));
  if (std::find(style.columns.begin(), style.columns.end(), "capture") == style.columns.end())
    storage::refuse(name, "there is no column \"capture\". Name the columns in the first row, for example capture,tilt_deg.");
  return style;
}

bool has_column(const Style& style, std::string_view column) {
  return std::find(style.columns.begin(), style.columns.end(), column) != style.columns.end();
}

AnswerColumns answer_columns(const Style& style) {
  AnswerColumns columns;
  columns.use = has_column(style, "use");
  for (const char* column : {"tilt_units", "tilt_deg"}) {
    if (has_column(style, column)) columns.tilt = column;
  }
  return columns;
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

/// Separates "1.5 verify" after its number. A degree sign belongs to the number.
std::pair<std::string_view, std::string_view> number_and_word(std::string_view typed) {
  const std::size_t degree = typed.find(kDegree);
  const std::size_t end = degree == std::string_view::npos ? std::min(typed.find_first_of(" \t"), typed.size()) : degree + kDegree.size();
  return {typed.substr(0, end), bare(typed.substr(end))};
}

/// `number`: the part of the typed text that must be one.
std::string tilt_of(std::string_view number, std::string_view typed, const std::string& column) {
  std::string_view rest = number;
  if (rest.ends_with(kDegree)) rest = bare(rest.substr(0, rest.size() - kDegree.size()));
  std::string tilt;
  if (rest.starts_with(kMinus)) {
    tilt = "-";
    rest.remove_prefix(kMinus.size());
  }
  tilt += rest;
  std::replace(tilt.begin(), tilt.end(), ',', '.');
  const auto value = parse_number(tilt);
  if (!value) throw Error(ErrorKind::kInput, fmt::format("\"{}\" is not a number. No row was written.", base::escaped(typed)));
  const base::Range& range = base::range_of("log", column);
  if (!base::in_range(range, *value))
    throw Error(ErrorKind::kInput, fmt::format("{} is {}. No row was written.", column, base::out_of_range_text(range, *value)));
  return tilt;
}

StepUse use_of(std::string_view word, bool has_use) {
  const auto use = use_named(word);
  if (!use) {
    throw Error(ErrorKind::kInput, fmt::format("\"{}\" is not a use. No row was written. After the number, type {}, or nothing.",
                                               base::escaped(word), enum_list<StepUse>(", ", " or ")));
  }
  if (!has_use && *use != StepUse::kYes) {
    throw Error(
        ErrorKind::kInput,
        fmt::format("the log has no column use, so the use {} cannot be written without a change of its other rows. No row was written. "
                    "Add the column to the log, with a field in every row, or type the tilt alone.",
                    enum_name(*use)));
  }
  return *use;
}

/// The number after the highest one in the column sequence, if every row has a number there. Otherwise blank.
std::string next_sequence(std::string_view log, const std::string& name, const Style& style) {
  const auto column = static_cast<std::size_t>(std::find(style.columns.begin(), style.columns.end(), "sequence") - style.columns.begin());
  if (column == style.columns.size() || is_without_text(log)) return "";
  double highest = 0;
  CsvRows rows(log, name);
  while (const auto row = rows.next()) {
    const auto number = column < row->fields.size() ? parse_number(row->fields[column]) : std::nullopt;
    if (!number) return "";
    highest = std::max(highest, *number);
  }
  const double next = std::floor(highest) + 1;
  return base::in_range(base::range_of("log", "sequence"), next) ? fmt::format("{:.0f}", next) : "";
}

}  // namespace

bool is_without_rows(std::string_view log, const std::string& name) { return is_without_text(log) || !CsvRows(log, name).next(); }

AnswerColumns answer_columns_of(std::string_view log, const std::string& name) { return answer_columns(style_of(log, name)); }

TypedAnswer typed_answer(std::string_view typed, const AnswerColumns& columns) {
  const std::string_view text = bare(typed);
  const auto [number, word] = number_and_word(text);
  TypedAnswer answer{tilt_of(number, text, *columns.tilt)};
  if (!word.empty()) answer.use = use_of(word, columns.use);
  return answer;
}

std::string added_row(std::string_view log, const std::string& name, std::string_view capture, const TypedAnswer& answer) {
  const Style style = style_of(log, name);
  const std::string tilt_name = answer_columns(style).tilt.value_or("");
  const std::string_view line_end = line_end_of(log);
  std::string added;
  if (!log.empty() && log != kMark && !log.ends_with('\n') && !log.ends_with('\r')) added += line_end;
  if (is_without_text(log)) added += fmt::format("{}{}", fmt::join(style.columns, ","), line_end);
  bool is_first = true;
  for (const std::string& column : style.columns) {
    if (!is_first) added += style.separator;
    is_first = false;
    if (column == "capture") added += field_of(capture, style.separator);
    if (column == tilt_name) added += field_of(answer.tilt, style.separator);
    if (column == "use" && answer.use) added += enum_name(*answer.use);
    if (column == "sequence") added += next_sequence(log, name, style);
  }
  added += line_end;
  return added;
}

}  // namespace evenwall::internal::tables
