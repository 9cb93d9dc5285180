// SPDX-License-Identifier: GPL-3.0-or-later
// Builds the HTML page of a survey, in the order that a reader needs.
#include <fmt/format.h>

#include <cmath>

#include "base/counted.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/report.hpp"
#include "report/html.hpp"
#include "report/page_frame.hpp"
#include "report/page_inputs.hpp"
#include "report/solution_words.hpp"
#include "report/survey_charts.hpp"
#include "report/survey_tables.hpp"
#include "report/survey_words.hpp"

namespace evenwall::internal::report {
namespace {

/// A note with the number of rows that the page does not show; empty if it shows all.
std::string left_out(std::size_t all, const std::string& one) {
  if (all <= kMostPageRows) return {};
  return html_paragraph(fmt::format("{} not shown here. The JSON document and evenwall survey --csv have all of them.",
                                    base::counted(all - kMostPageRows, "more " + one + " is", "more " + one + "s are")),
                        "class=\"note left-out\"");
}

std::string answer(const Survey& s) {
  std::string words = element("h1", html_escaped(survey_answer(s)), "id=\"answer\"") + "\n";
  words += html_paragraph(answer_note(s), "class=\"note\"");
  words += html_paragraphs(spread_sentences(s)) + html_paragraphs(record_sentences(s));
  words += html_paragraph(drift_sentence(s)) + html_paragraph(named_sentence(s));
  return html_paragraph(survey_size(s), "class=\"facts\"") + "<div class=\"answer alone\">\n<div>\n" + words + "</div>\n</div>\n";
}

std::string charts(const Survey& s) { return html_heading("Charts") + html_charts(survey_charts(s), "charts tall"); }

std::string records(const Survey& s) {
  std::string html = html_heading("Records: cutting-azimuth errors");
  if (s.records.empty()) return html + html_paragraph("No solution states its record.");
  html += wide(html_table(
      record_table(s),
      "The errors are relative to the records' mean. If the error is positive, sessions on the record find azimuths that are too high."));
  return html + left_out(s.records.size(), "record side");
}

std::string cartridges(const Survey& s) {
  std::string html = html_heading("Cartridges: needed azimuths");
  html += left_out(s.cartridges.size(), "cartridge");
  return html +
         wide(html_table(
             cartridge_table(s),
             "The lowest azimuth comes first. If some cartridges are not shown, these are farthest from the mean. An equal-crosstalk "
             "azimuth holds only for the record on which it was found, and is not averaged over records."));
}

std::string groups(const Survey& s) {
  const std::string html = fmt::format("<h2>By {}</h2>\n", html_escaped(*s.grouped_by));
  if (s.groups.empty()) return html + html_paragraph("No session has a text under this key.");
  return html + wide(html_table(group_table(s), "The means are corrected for the cutting-azimuth errors that the whole archive gives.")) +
         left_out(s.groups.size(), "group");
}

std::string contradicted(const Survey& s) {
  std::string html = html_heading("Solutions that the others contradict");
  html += wide(
      html_table(bad_solution_table(s), "These solutions are excluded from all results above. Check each session, and capture it again."));
  return html + left_out(s.bad_solutions.size(), "such solution");
}

}  // namespace
}  // namespace evenwall::internal::report

namespace evenwall {

std::string survey_page(const Survey& s) {
  using namespace internal::report;
  if (!std::isfinite(s.mean_deg) || s.cartridges.empty())
    throw Error(ErrorKind::kData, "the survey has no cartridge or no mean azimuth. No page is written. Survey the archive again.");
  std::string html = html_section("what-was-found", answer(s));
  html += html_section("spreads", html_heading("Spreads") + html_table(spread_table(s), ""));
  html += html_section("charts", charts(s)) + html_section("records", records(s)) + html_section("cartridges", cartridges(s));
  if (s.grouped_by) html += html_section("groups", groups(s));
  if (!s.bad_solutions.empty()) html += html_section("named", contradicted(s));
  html += "<div class=\"ending\">\n";
  html += html_section("warnings", html_heading("Warnings and what to do") + html_warnings(s.warnings, kMostPageRows));
  html += html_section("cautions", html_heading("Take care") + html_list(cautions()));
  html += html_section("inputs", html_heading("Method, versions, inputs") + html_table(survey_inputs_table(s), "")) + "</div>\n";
  return html_document("Survey of " + internal::base::counted(s.cartridges.size(), "cartridge"), html);
}

}  // namespace evenwall
