// SPDX-License-Identifier: GPL-3.0-or-later
// Builds a page of text, 80 columns wide, with headings, wrapped paragraphs and aligned tables.
#pragma once

#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

namespace evenwall::internal::report {

inline constexpr std::size_t kPageColumns = 80;

/// Columns that a text takes on a terminal: one for each code point, two for the wide ones of East Asia, zero for combining marks.
std::size_t display_columns(std::string_view text);

/// The text cut to `columns`; if it is longer, "…" replaces its end.
std::string shortened(std::string_view text, std::size_t columns);

/// The text cut to `columns`; if it is longer, "…" replaces its middle, because names often differ at their ends.
std::string shortened_inside(std::string_view text, std::size_t columns);

/// Rows of cells; the first row holds the headings. The first column is left-aligned, and so is the last one if it holds words.
struct TextTable {
  std::vector<std::vector<std::string>> rows;
  bool words_last = false;
};

inline bool has_rows_of_one_length(const TextTable& table) {
  return std::all_of(table.rows.begin(), table.rows.end(), [&](const auto& row) { return row.size() == table.rows.front().size(); });
}

enum class Ink { kPlain, kColour };

class Page {
 public:
  explicit Page(Ink ink) : ink_(ink) {}

  /// Adds the answer: without indent, and in bold green if the page has colour.
  void answer(const std::string& sentence);
  /// Adds a failure before the answer: without indent, in bold if the page has colour.
  void alert(const std::string& sentence);
  void heading(const std::string& title);
  /// Adds words, wrapped at the page's edge. `mark` precedes the first line ("- "); the other lines are indented by the mark's width.
  void paragraph(const std::string& words, const std::string& mark = "  ");
  /// Requires: all rows of one length.
  void table(const TextTable& table);
  [[nodiscard]] const std::string& text() const { return text_; }

 private:
  [[nodiscard]] std::string inked(const std::string& words, const char* code) const;

  Ink ink_;
  std::string text_;
};

}  // namespace evenwall::internal::report
