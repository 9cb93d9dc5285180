// The page of a solution, in the order that a reader needs.
#include <fmt/format.h>

#include <cmath>

#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/report.hpp"
#include "report/front_view.hpp"
#include "report/html.hpp"
#include "report/inline_svg.hpp"
#include "report/number_format.hpp"
#include "report/page_inputs.hpp"
#include "report/page_style.hpp"
#include "report/plot_engine.hpp"
#include "report/solution_charts.hpp"
#include "report/solution_tables.hpp"
#include "report/solution_words.hpp"

namespace evenwall {
namespace {

constexpr const char* kHead =
    "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
    "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'\">\n"
    "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<meta name=\"color-scheme\" content=\"light dark\">\n";

std::string heading(const char* words) { return element("h2", html_escaped(words)) + "\n"; }

std::string paragraphs(const std::vector<std::string>& sentences) {
  std::string html;
  for (const std::string& sentence : sentences) html += html_paragraph(sentence);
  return html;
}

std::string section(const char* name, const std::string& html) { return fmt::format("<section id=\"{}\">\n{}</section>\n", name, html); }

/// Under a table that turns into cards where the screen is narrow.
std::string wide(const std::string& table) { return element("div", table, "class=\"wide\"") + "\n"; }

std::string scope_sentence(const Solution& solution) {
  if (solution.recommended.scope == Scope::kAnyRecord)
    return "The interval holds for any record: the stated uncertainty of how records are cut is in it.";
  return "The interval holds for this record where it is, on this turntable: how truly it was cut and how flat it lies are not in it.";
}

std::string answer(const Solution& solution) {
  std::string words = element("h1", html_escaped(answer_sentence(solution)), "id=\"answer\"") + "\n";
  words += paragraphs(hand_sentences(solution));
  words += html_paragraph(scope_sentence(solution), "class=\"scope\"");
  if (const auto ruler = ruler_sentence(solution)) words += html_paragraph(*ruler);
  if (const auto contact = contact_sentence(solution.contact)) words += html_paragraph(*contact);
  words += html_paragraph("Basis: " + escaped(solution.recommended.why) + ".", "class=\"note\"");
  const std::string view = front_view(solution.shim);
  const std::string drawn = view.empty() ? "" : element("div", "\n" + view + html_paragraph("Not to scale.", "class=\"note\""));
  return html_paragraph(session_line(solution), "class=\"facts\"") +
         fmt::format("<div class=\"answer{}\">\n<div>\n{}</div>\n{}</div>\n", view.empty() ? " alone" : "", words, drawn);
}

std::string before_and_after(const Solution& solution) {
  std::string html = heading("Before and after") + html_table(expectation_table(solution), "");
  for (const Verification& v : solution.verification) html += html_paragraph(verification_sentence(v));
  return html;
}

std::string criteria(const Solution& solution) {
  return "<h3>By each criterion</h3>\n" + html_table(criteria_table(solution), "") + paragraphs(criteria_sentences(solution));
}

std::string balance(const Solution& solution) {
  return "<h3>Channel balance (positive: left louder)</h3>\n" + html_list(balance_sentences(solution.balance));
}

std::string figure(const Chart& chart, const std::string& svg) {
  const std::string caption = element("b", html_escaped(chart.title)) + element("span", html_escaped(chart.caption));
  return element("figure", "\n" + element("figcaption", caption) + "\n" + svg, fmt::format("id=\"chart-{}\"", chart.name)) + "\n";
}

std::string charts(const Solution& solution) {
  std::string drawn;
  bool missing = false;
  for (const Chart& chart : solution_charts(solution)) {
    const auto document = drawn_by_gnuplot(chart.script);
    const auto svg = document ? inline_svg(*document, chart.name, chart.title, chart.description) : std::nullopt;
    if (svg) drawn += figure(chart, *svg);
    missing = missing || !svg;
  }
  std::string html = heading("Charts");
  if (!drawn.empty()) html += element("div", "\n" + drawn, "class=\"charts\"") + "\n";
  if (missing)
    html += html_paragraph(
        "Charts are missing here: gnuplot, which draws them, did not run where this page was made. Install it and make the page again; the "
        "tables say the same.",
        "class=\"note\" id=\"no-charts\"");
  if (solution.by_frequency.size() > 1) html += html_table(frequency_table(solution), "Best tilt at each tone (± standard uncertainty)");
  return html;
}

std::string steps(const Solution& solution) {
  return heading("Steps") +
         wide(html_table(full_step_table(solution), "Audit: tilt by the signal minus tilt logged, ± standard uncertainty."));
}

std::string budget(const Solution& solution) {
  return heading("Where the uncertainty comes from") +
         html_table(uncertainty_table(solution),
                    "Standard uncertainties of the recommended tilt; together: the root of the sum of their squares.");
}

std::string warnings(const Solution& solution) {
  std::string items;
  for (const Warning& w : solution.warnings)
    items += element("li", element("code", html_escaped(w.code)) + ": " + html_escaped(w.message)) + "\n";
  std::string html = heading("Warnings and what to do");
  html += items.empty() ? html_paragraph("None.") : element("ul", "\n" + items) + "\n";
  if (solution.next_step) html += html_paragraph("Next step: " + escaped(solution.next_step->why) + ".");
  return html;
}

}  // namespace

std::string solution_page(const Solution& solution) {
  const Recommended& r = solution.recommended;
  if (!std::isfinite(r.tilt_deg) || !std::isfinite(r.u_deg))
    throw Error(ErrorKind::kData, "the solution recommends no tilt, so there is nothing to report; solve the session again");
  const std::string title = solution.session.cartridge ? "Azimuth of " + escaped(*solution.session.cartridge) : "Azimuth";
  std::string html = kHead + element("title", html_escaped(title)) + "\n<style>" + kPageStyle + "</style>\n</head>\n<body>\n<main>\n";
  html += section("what-to-do", answer(solution));
  html += section("before-and-after", before_and_after(solution));
  html += section("not-correctable", heading("What tilt can't mend") + html_paragraph(rest_sentence(solution.not_correctable)) +
                                         "<div class=\"pair\">\n<div>" + criteria(solution) + "</div>\n<div>" + balance(solution) +
                                         "</div>\n</div>\n");
  html += section("charts", charts(solution));
  html += section("steps", steps(solution));
  html += "<div class=\"ending\">\n" + section("uncertainty", budget(solution));
  html += section("warnings", warnings(solution));
  html += section("cautions", heading("Take care") + html_list(cautions()));
  html += section("inputs", heading("Method, versions, inputs") + html_table(inputs_table(solution), "")) + "</div>\n";
  return html + "</main>\n</body>\n</html>\n";
}

}  // namespace evenwall
