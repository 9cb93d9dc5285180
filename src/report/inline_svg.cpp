// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/inline_svg.hpp"

#include <fmt/format.h>

#include <array>
#include <utility>

#include "report/html.hpp"

namespace evenwall::internal::report {
namespace {

void replace_all(std::string& text, std::string_view what, std::string_view by) {
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + by.size())) text.replace(at, what.size(), by);
}

/// Removes every stretch that begins with `from` and ends with `to`.
void cut_all(std::string& text, std::string_view from, std::string_view to) {
  for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from, at)) {
    const std::size_t end = text.find(to, at + from.size());
    if (end == std::string::npos) return;
    text.erase(at, end + to.size() - at);
  }
}

/// The colours of a script are placeholders for the page's own colours, which change with the reader's scheme.
constexpr std::array<std::pair<std::string_view, std::string_view>, 8> kColours{{{"rgb(  1,   0,   0)", "var(--first)"},
                                                                                 {"rgb(  2,   0,   0)", "var(--second)"},
                                                                                 {"rgb(  3,   0,   0)", "var(--third)"},
                                                                                 {"rgb(  4,   0,   0)", "var(--faint)"},
                                                                                 {"rgb(  5,   0,   0)", "var(--line)"},
                                                                                 {"rgb(0,0,0)", "currentColor"},
                                                                                 {"white", "var(--paper)"},
                                                                                 {"black", "currentColor"}}};

void put_page_colours(std::string& drawing) {
  for (const auto& [placeholder, colour] : kColours) {
    for (const char* quote : {"'", "\""})
      replace_all(drawing, fmt::format("{0}{1}{0}", quote, placeholder), fmt::format("{0}{1}{0}", quote, colour));
  }
}

}  // namespace

std::optional<std::string> inline_svg(const std::string& document, const std::string& name, const std::string& title,
                                      const std::string& description) {
  const std::size_t box = document.find("viewBox=\"");
  const std::size_t head_end = document.find("</desc>");
  const std::size_t end = document.rfind("</svg>");
  if (box == std::string::npos || head_end == std::string::npos || end == std::string::npos || end < head_end) return std::nullopt;
  const std::size_t box_end = document.find('"', box + 9);
  const std::string view_box = document.substr(box, box_end + 1 - box);
  std::string drawing = document.substr(head_end + 7, end - head_end - 7);
  cut_all(drawing, "<filter", "</filter>");
  cut_all(drawing, "<script", "</script>");
  cut_all(drawing, " id=\"", "\"");  // ids of groups, to which nothing refers; the ids of marks are in single quotes and stay
  cut_all(drawing, "<title>", "</title>");
  replace_all(drawing, "gpPt", name + "-mark-");
  replace_all(drawing, "gpDot", name + "-dot");
  replace_all(drawing, " font-family=\"sans-serif\"", "");
  put_page_colours(drawing);
  return fmt::format(
      "<svg class=\"chart\" {0} role=\"img\" aria-labelledby=\"{1}-title {1}-description\" xmlns:xlink=\"http://www.w3.org/1999/xlink\">\n"
      "<title id=\"{1}-title\">{2}</title>\n<desc id=\"{1}-description\">{3}</desc>\n{4}</svg>\n",
      view_box, name, html_escaped(title), html_escaped(description), drawing);
}

}  // namespace evenwall::internal::report
