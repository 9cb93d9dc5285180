// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/html.hpp"

#include <fmt/format.h>

#include <cassert>

#include "base/text.hpp"

namespace evenwall::internal::report {
namespace {

bool holds_words(const TextTable& table, std::size_t column) { return table.words_last && column + 1 == table.rows[0].size(); }

std::string head_row(const TextTable& table) {
  std::string cells;
  for (std::size_t c = 0; c < table.rows.at(0).size(); ++c)
    cells += element("th", html_escaped(table.rows[0][c]), holds_words(table, c) ? "scope=\"col\" class=\"words\"" : "scope=\"col\"");
  return element("thead", element("tr", cells));
}

std::string body_row(const TextTable& table, const std::vector<std::string>& row) {
  std::string cells = element("th", html_escaped(row[0]), "scope=\"row\"");
  for (std::size_t c = 1; c < row.size(); ++c) {
    const std::string label =
        fmt::format("{}data-label=\"{}\"", holds_words(table, c) ? "class=\"words\" " : "", html_escaped(table.rows[0][c]));
    cells += element("td", html_escaped(row[c]), label);
  }
  return element("tr", cells) + "\n";
}

}  // namespace

std::string html_escaped(std::string_view text) {
  std::string html;
  for (const char c : base::escaped(text)) {
    switch (c) {
      case '&':
        html += "&amp;";
        break;
      case '<':
        html += "&lt;";
        break;
      case '>':
        html += "&gt;";
        break;
      case '"':
        html += "&quot;";
        break;
      case '\'':
        html += "&#39;";
        break;
      default:
        html += c;
    }
  }
  return html;
}

std::string element(std::string_view tag, std::string_view html, std::string_view attributes) {
  return fmt::format("<{}{}{}>{}</{}>", tag, attributes.empty() ? "" : " ", attributes, html, tag);
}

std::string html_paragraph(std::string_view text, std::string_view attributes) {
  return element("p", html_escaped(text), attributes) + "\n";
}

std::string html_list(const std::vector<std::string>& texts) {
  std::string items;
  for (const std::string& text : texts) items += element("li", html_escaped(text)) + "\n";
  return element("ul", "\n" + items) + "\n";
}

std::string html_table(const TextTable& table, std::string_view caption) {
  assert(has_rows_of_one_length(table));
  std::string rows;
  for (std::size_t r = 1; r < table.rows.size(); ++r) rows += body_row(table, table.rows[r]);
  const std::string title = caption.empty() ? "" : element("caption", html_escaped(caption));
  return element("table", title + head_row(table) + element("tbody", "\n" + rows)) + "\n";
}

}  // namespace evenwall::internal::report
