// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/page.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <cstdint>

namespace evenwall::internal::report {
namespace {

constexpr std::size_t kIndent = 2;
constexpr std::size_t kGap = 2;            // between two columns of a table
constexpr std::size_t kNarrowestName = 8;  // a first column is not cut further
constexpr const char* kBold = "\x1b[1m";
constexpr const char* kBoldGreen = "\x1b[1;32m";
constexpr const char* kPlain = "\x1b[0m";

bool starts_code_point(char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }

/// A range of code points. Terminals show kWide two columns wide (most of Unicode's East Asian Wide), and kCombining in zero columns.
struct CodePoints {
  std::uint32_t first, last;
};
constexpr std::array<CodePoints, 11> kWide{{{0x1100, 0x115F},
                                            {0x2E80, 0x303E},
                                            {0x3041, 0xA4CF},
                                            {0xA960, 0xA97C},
                                            {0xAC00, 0xD7A3},
                                            {0xF900, 0xFAFF},
                                            {0xFE30, 0xFE6F},
                                            {0xFF01, 0xFF60},
                                            {0xFFE0, 0xFFE6},
                                            {0x1F300, 0x1FAFF},
                                            {0x20000, 0x3FFFD}}};
constexpr std::array<CodePoints, 3> kCombining{{{0x0300, 0x036F}, {0x200B, 0x200D}, {0xFE00, 0xFE0F}}};

template <std::size_t kCount>
bool is_in(const std::array<CodePoints, kCount>& ranges, std::uint32_t point) {
  return std::any_of(ranges.begin(), ranges.end(), [&](const CodePoints& r) { return point >= r.first && point <= r.last; });
}

/// The bytes of the code point that begins at `at`; texts are UTF-8 here, because base::escaped() has made them so.
std::size_t length_at(std::string_view text, std::size_t at) {
  std::size_t end = at + 1;
  while (end < text.size() && !starts_code_point(text[end])) ++end;
  return end - at;
}

std::size_t columns_at(std::string_view text, std::size_t at) {
  const std::size_t length = length_at(text, at);
  if (length == 1 || length > 4) return 1;  // ASCII, or not UTF-8
  std::uint32_t point = static_cast<unsigned char>(text[at]) & (0xFFU >> (length + 1));
  for (std::size_t i = 1; i < length; ++i) point = (point << 6U) | (static_cast<unsigned char>(text[at + i]) & 0x3FU);
  if (is_in(kCombining, point)) return 0;
  return is_in(kWide, point) ? 2 : 1;
}

/// The length in bytes of the text's first `columns` columns.
std::size_t end_of_columns(std::string_view text, std::size_t columns) {
  std::size_t at = 0;
  for (std::size_t seen = 0; at < text.size(); at += length_at(text, at)) {
    seen += columns_at(text, at);
    if (seen > columns) break;
  }
  return at;
}

/// The words in lines of at most `columns`; a longer word is cut.
std::vector<std::string> wrapped(std::string_view words, std::size_t columns) {
  std::vector<std::string> lines(1);
  std::size_t at = 0;
  while (at < words.size()) {
    const std::size_t space = std::min(words.find(' ', at), words.size());
    const std::string word = shortened(words.substr(at, space - at), columns);
    at = space + 1;
    const std::size_t needed = display_columns(lines.back()) + (lines.back().empty() ? 0 : 1) + display_columns(word);
    if (needed > columns) lines.emplace_back();
    if (!lines.back().empty()) lines.back() += ' ';
    lines.back() += word;
  }
  return lines;
}

std::vector<std::size_t> column_widths(const TextTable& table) {
  std::vector<std::size_t> widths(table.rows.front().size(), 0);
  for (const auto& row : table.rows) {
    for (std::size_t c = 0; c < row.size(); ++c) widths[c] = std::max(widths[c], display_columns(row[c]));
  }
  std::size_t total = kIndent;
  for (const std::size_t w : widths) total += w + kGap;
  total -= kGap;
  if (total > kPageColumns) {
    const std::size_t spare = widths.front() > kNarrowestName ? widths.front() - kNarrowestName : 0;
    widths.front() -= std::min(spare, total - kPageColumns);
  }
  return widths;
}

std::string padded(const std::string& cell, std::size_t columns, bool left, bool name) {
  const std::string shown = name ? shortened_inside(cell, columns) : shortened(cell, columns);
  const std::string blank(columns - display_columns(shown), ' ');
  return left ? shown + blank : blank + shown;
}

std::string without_trailing_blanks(std::string line) {
  line.erase(line.find_last_not_of(' ') + 1);
  return line;
}

}  // namespace

std::size_t display_columns(std::string_view text) {
  std::size_t columns = 0;
  for (std::size_t at = 0; at < text.size(); at += length_at(text, at)) columns += columns_at(text, at);
  return columns;
}

std::string shortened(std::string_view text, std::size_t columns) {
  if (display_columns(text) <= columns) return std::string(text);
  if (columns == 0) return {};
  return std::string(text.substr(0, end_of_columns(text, columns - 1))) + "…";
}

std::string shortened_inside(std::string_view text, std::size_t columns) {
  const std::size_t all = display_columns(text);
  if (all <= columns) return std::string(text);
  if (columns < 3) return shortened(text, columns);
  const std::size_t tail = (columns - 1) / 2;
  std::size_t begin = end_of_columns(text, all - tail);
  if (display_columns(text.substr(begin)) > tail) begin += length_at(text, begin);
  return std::string(text.substr(0, end_of_columns(text, columns - 1 - tail))) + "…" + std::string(text.substr(begin));
}

std::string Page::inked(const std::string& words, const char* code) const { return ink_ == Ink::kColour ? code + words + kPlain : words; }

void Page::answer(const std::string& sentence) {
  for (const std::string& line : wrapped(sentence, kPageColumns)) text_ += inked(line, kBoldGreen) + "\n";
}

void Page::alert(const std::string& sentence) {
  for (const std::string& line : wrapped(sentence, kPageColumns)) text_ += inked(line, kBold) + "\n";
}

void Page::heading(const std::string& title) {
  if (!text_.empty()) text_ += "\n";
  text_ += inked(shortened(title, kPageColumns), kBold) + "\n";
}

void Page::paragraph(const std::string& words, const std::string& mark) {
  const std::size_t indent = display_columns(mark);
  bool first = true;
  for (const std::string& line : wrapped(words, kPageColumns - indent)) {
    text_ += (first ? mark : std::string(indent, ' ')) + line + "\n";
    first = false;
  }
}

void Page::table(const TextTable& table) {
  assert(has_rows_of_one_length(table));
  if (table.rows.empty()) return;
  const std::vector<std::size_t> widths = column_widths(table);
  for (const auto& row : table.rows) {
    std::string line(kIndent, ' ');
    for (std::size_t c = 0; c < row.size(); ++c) {
      const bool left = c == 0 || (table.words_last && c + 1 == row.size());
      line += (c > 0 ? std::string(kGap, ' ') : "") + padded(row[c], widths[c], left, c == 0);
    }
    text_ += without_trailing_blanks(line) + "\n";
  }
}

}  // namespace evenwall::internal::report
