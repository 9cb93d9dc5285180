// SPDX-License-Identifier: GPL-3.0-or-later
// A page of text, 80 columns wide: headings, wrapped paragraphs, aligned tables.
#pragma once

#include <algorithm>
#include <string>
#include <string_view>
#include <vector>

namespace evenwall::internal::report {

inline constexpr std::size_t kPageColumns = 80;

/// Columns a text takes on a terminal: one for each code point, two for the wide ones of East Asia, none for combining marks.
std::size_t display_columns(std::string_view text);

/// The text cut to `columns`, its end replaced by "…" where it is longer.
std::string shortened(std::string_view text, std::size_t columns);

/// The text cut to `columns`, its middle replaced by "…" where it is longer: names differ at their ends.
std::string shortened_inside(std::string_view text, std::size_t columns);

/// Rows of cells, the heads first. The first column is set left, so is the last where it holds words.
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

  /// The answer, set apart from all the rest.
  void answer(const std::string& sentence);
  void heading(const std::string& title);
  /// Wrapped at the page's edge. `mark` stands before the first line ("- "), the others are indented as far.
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
