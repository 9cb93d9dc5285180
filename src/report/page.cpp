#include "report/page.hpp"

#include <algorithm>

namespace evenwall {
namespace {

constexpr std::size_t kIndent = 2;
constexpr std::size_t kGap = 2;            // between two columns of a table
constexpr std::size_t kNarrowestName = 8;  // a first column is cut no further
constexpr const char* kBold = "\x1b[1m";
constexpr const char* kBoldGreen = "\x1b[1;32m";
constexpr const char* kPlain = "\x1b[0m";

bool starts_code_point(char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }

/// Lines of at most `columns`; a word longer than that is cut.
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

std::string padded(const std::string& cell, std::size_t columns, bool left) {
  const std::string shown = shortened(cell, columns);
  const std::string blank(columns - display_columns(shown), ' ');
  return left ? shown + blank : blank + shown;
}

std::string without_trailing_blanks(std::string line) {
  line.erase(line.find_last_not_of(' ') + 1);
  return line;
}

}  // namespace

std::size_t display_columns(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), starts_code_point));
}

std::string shortened(std::string_view text, std::size_t columns) {
  if (display_columns(text) <= columns) return std::string(text);
  if (columns == 0) return {};
  std::size_t end = 0;
  for (std::size_t seen = 0; end < text.size(); ++end) {
    if (starts_code_point(text[end]) && ++seen > columns - 1) break;
  }
  return std::string(text.substr(0, end)) + "…";
}

std::string Page::inked(const std::string& words, const char* code) const { return ink_ == Ink::kColour ? code + words + kPlain : words; }

void Page::answer(const std::string& sentence) {
  for (const std::string& line : wrapped(sentence, kPageColumns)) text_ += inked(line, kBoldGreen) + "\n";
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
  if (table.rows.empty()) return;
  const std::vector<std::size_t> widths = column_widths(table);
  for (const auto& row : table.rows) {
    std::string line(kIndent, ' ');
    for (std::size_t c = 0; c < row.size(); ++c) {
      const bool left = c == 0 || (table.words_last && c + 1 == row.size());
      line += (c > 0 ? std::string(kGap, ' ') : "") + padded(row[c], widths[c], left);
    }
    text_ += without_trailing_blanks(line) + "\n";
  }
}

}  // namespace evenwall
