// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/page_frame.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/counted.hpp"
#include "evenwall/words.hpp"
#include "report/html.hpp"
#include "report/inline_svg.hpp"
#include "report/page_style.hpp"
#include "report/plot_engine.hpp"

namespace evenwall::internal::report {
namespace {

constexpr const char* kHead =
    "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
    "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"color-scheme\" content=\"light dark\">\n";

constexpr const char* kNoCharts =
    "The charts are missing, because gnuplot did not run when this page was made. The tables show the same results. Install gnuplot and "
    "make the page again.";

std::string figure(const Chart& chart, const std::string& svg) {
  const std::string caption = element("b", html_escaped(chart.title)) + element("span", html_escaped(chart.caption));
  return element("figure", "\n" + element("figcaption", caption) + "\n" + svg, fmt::format("id=\"chart-{}\"", chart.name)) + "\n";
}

}  // namespace

std::string html_document(const std::string& title, const std::string& body) {
  return kHead + element("title", html_escaped(title)) + "\n<style>" + kPageStyle + "</style>\n</head>\n<body>\n<main>\n" + body +
         "</main>\n</body>\n</html>\n";
}

std::string html_section(const char* name, const std::string& html) {
  return fmt::format("<section id=\"{}\">\n{}</section>\n", name, html);
}

std::string html_heading(const char* words) { return element("h2", html_escaped(words)) + "\n"; }

std::string html_paragraphs(const std::vector<std::string>& texts) {
  std::string html;
  for (const std::string& text : texts) html += html_paragraph(text);
  return html;
}

std::string wide(const std::string& table) { return element("div", table, "class=\"wide\"") + "\n"; }

std::string html_charts(const std::vector<Chart>& charts, const char* list_class) {
  std::string drawn;
  bool missing = false;
  for (const Chart& chart : charts) {
    const auto document = drawn_by_gnuplot(chart.script);
    const auto svg = document ? inline_svg(*document, chart.name, chart.title, chart.description) : std::nullopt;
    if (svg) drawn += figure(chart, *svg);
    missing = missing || !svg;
  }
  std::string html;
  if (!drawn.empty()) html += element("div", "\n" + drawn, fmt::format("class=\"{}\"", list_class)) + "\n";
  if (missing) html += html_paragraph(kNoCharts, "class=\"note\" id=\"no-charts\"");
  return html;
}

std::string html_warnings(const Warnings& warnings, std::size_t most) {
  if (warnings.empty()) return html_paragraph("There are no warnings.");
  std::string items;
  for (std::size_t i = 0; i < std::min(most, warnings.size()); ++i) {
    const Warning& w = warnings[i];
    items += element("li", element("code", enum_name(w.code)) + ": " + html_escaped(w.message)) + "\n";
  }
  std::string html = element("ul", "\n" + items) + "\n";
  if (warnings.size() > most) {
    html += html_paragraph(fmt::format("{} not shown here. The JSON document contains all of them.",
                                       base::counted(warnings.size() - most, "more warning is", "more warnings are")));
  }
  return html;
}

}  // namespace evenwall::internal::report
