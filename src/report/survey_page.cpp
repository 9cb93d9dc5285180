// SPDX-License-Identifier: GPL-3.0-or-later
// Builds the HTML page of a survey, in the order that a reader needs.
#include <fmt/format.h>

#include <cmath>

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
std::string left_out(std::size_t all, const char* what) {
  if (all <= kMostPageRows) return {};
  return html_paragraph(
      fmt::format("{} more {} are left out here: evenwall survey --csv, and the JSON document, have all.", all - kMostPageRows, what),
      "class=\"note left-out\"");
}

std::string answer(const Survey& s) {
  std::string words = element("h1", html_escaped(survey_answer(s)), "id=\"answer\"") + "\n";
  words += html_paragraph(
      "Positive is clockwise as seen from the front of the cartridge: its spindle side goes up. It is the tilt a cartridge "
      "needs on a truly cut record.",
      "class=\"note\"");
  words += html_paragraphs(spread_sentences(s)) + html_paragraphs(record_sentences(s));
  words += html_paragraph(drift_sentence(s)) + html_paragraph(named_sentence(s));
  return html_paragraph(survey_size(s), "class=\"facts\"") + "<div class=\"answer alone\">\n<div>\n" + words + "</div>\n</div>\n";
}

std::string charts(const Survey& s) { return html_heading("Charts") + html_charts(survey_charts(s), "charts tall"); }

std::string records(const Survey& s) {
  std::string html = html_heading("Records: cut errors");
  if (s.records.empty()) return html + html_paragraph("No solution names its record.");
  html +=
      wide(html_table(record_table(s), "Relative to the records' mean. A positive error: sessions on it find tilts that are too high."));
  return html + left_out(s.records.size(), "record sides");
}

std::string cartridges(const Survey& s) {
  std::string html = html_heading("Cartridges: tilt needed on a true cut");
  html += left_out(s.cartridges.size(), "cartridges");
  return html +
         wide(html_table(cartridge_table(s),
                         "Lowest first; where not all are shown, these are farthest from the mean. Equal-crosstalk tilts hold for the "
                         "record they were found on and don't add up over records."));
}

std::string groups(const Survey& s) {
  const std::string html = fmt::format("<h2>By {}</h2>\n", html_escaped(*s.grouped_by));
  if (s.groups.empty()) return html + html_paragraph("No solution's session has such a text.");
  return html + wide(html_table(group_table(s), "By the cut errors of the whole archive.")) + left_out(s.groups.size(), "groups");
}

std::string contradicted(const Survey& s) {
  std::string html = html_heading("Solutions that the others contradict");
  html += wide(html_table(bad_solution_table(s), "Left out of everything above. Look the session up, and capture it again."));
  return html + left_out(s.bad_solutions.size(), "such solutions");
}

}  // namespace
}  // namespace evenwall::internal::report

namespace evenwall {

std::string survey_page(const Survey& s) {
  using namespace internal::report;
  if (!std::isfinite(s.mean_deg) || s.cartridges.empty())
    throw Error(ErrorKind::kData, "the survey holds no cartridge, so there is nothing to report; survey the archive again");
  std::string html = html_section("what-was-found", answer(s));
  html += html_section("spreads", html_heading("Spreads") + html_table(spread_table(s), "Standard deviations"));
  html += html_section("charts", charts(s)) + html_section("records", records(s)) + html_section("cartridges", cartridges(s));
  if (s.grouped_by) html += html_section("groups", groups(s));
  if (!s.bad_solutions.empty()) html += html_section("named", contradicted(s));
  html += "<div class=\"ending\">\n";
  html += html_section("warnings", html_heading("Warnings and what to do") + html_warnings(s.warnings, kMostPageRows));
  html += html_section("cautions", html_heading("Take care") + html_list(cautions()));
  html += html_section("inputs", html_heading("Method, versions, inputs") + html_table(survey_inputs_table(s), "")) + "</div>\n";
  return html_document(fmt::format("Survey of {} cartridges", s.cartridges.size()), html);
}

}  // namespace evenwall
