// SPDX-License-Identifier: GPL-3.0-or-later
// Builds the HTML page of a solution, in the order that a reader needs.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/report.hpp"
#include "report/front_view.hpp"
#include "report/html.hpp"
#include "report/letter.hpp"
#include "report/number_format.hpp"
#include "report/page_frame.hpp"
#include "report/page_inputs.hpp"
#include "report/solution_charts.hpp"
#include "report/solution_tables.hpp"
#include "report/solution_words.hpp"
#include "report/trade_off_table.hpp"
#include "report/turn_words.hpp"

namespace evenwall::internal::report {
namespace {

std::string scope_sentence(const Solution& solution) {
  if (solution.recommended.scope == Scope::kAnyRecord || solution.recommended.scope == Scope::kTurnOnAnyRecord)
    return "The interval applies to any record. It includes the stated uncertainty of how records are cut.";
  return "The interval applies to this record as it lies on this turntable. "
         "It does not include the record's cutting-azimuth error, nor how flat the record lies.";
}

/// The letter: to whom, what was found, what is set or to be set, and the picture of the turn.
std::string letter(const Solution& solution) {
  std::string words;
  for (const std::string& line : letter_head(solution)) words += html_paragraph(line, "class=\"facts\"");
  words += html_paragraphs(letter_sentences(solution));
  if (const auto verified = verified_headline(solution)) words += html_paragraph(*verified, "class=\"verified\"");
  words += element("h1", html_escaped(answer_sentence(solution)), "id=\"answer\"") + "\n";
  words += html_paragraphs(hand_sentences(solution));
  const bool says_more = solution.verdict && solution.verdict->state != VerdictState::kTurn;  // the sentences above give the turn
  if (says_more) words += html_paragraph(verdict_sentence(*solution.verdict));
  words += html_paragraphs(correction_sentences(solution.corrections));
  words += html_paragraph(scope_sentence(solution), "class=\"scope\"");
  if (const auto ruler = ruler_sentence(solution)) words += html_paragraph(*ruler);
  if (const auto contact = contact_sentence(solution.contact)) words += html_paragraph(*contact);
  words += html_paragraph("Basis: " + as_sentence(solution.recommended.why), "class=\"note\"");
  const std::string view = front_view(drawn_move(solution));
  const std::string drawn = view.empty() ? "" : element("div", "\n" + view + html_paragraph("Not to scale.", "class=\"note\""));
  return html_paragraph(session_line(solution), "class=\"facts\"") + html_paragraph(azimuth_sentence(solution), "class=\"facts\"") +
         fmt::format("<div class=\"answer{}\">\n<div>\n{}</div>\n{}</div>\n", view.empty() ? " alone" : "", words, drawn);
}

std::string before_and_after(const Solution& solution) {
  std::string html = html_heading("Before and after") + html_table(expectation_table(solution), expectation_sentence(solution));
  for (const Verification& v : solution.verification) html += html_paragraph(verification_sentence(v));
  return html;
}

std::string criteria(const Solution& solution) {
  return "<h3>Azimuth by each criterion</h3>\n" + html_table(criteria_table(solution), "") + html_paragraphs(criteria_sentences(solution));
}

std::string choices(const Solution& solution) {
  if (solution.trade_off.empty()) return "";
  return "<h3>What each choice gives</h3>\n" + wide(html_table(trade_off_table(solution), trade_off_sentence(solution)));
}

std::string balance(const Solution& solution) {
  return "<h3>Channel balance (positive: left louder)</h3>\n" + html_list(balance_sentences(solution.balance));
}

std::string charts(const Solution& solution) {
  std::string html = html_heading("Charts") + html_charts(solution_charts(solution), "charts");
  if (solution.by_frequency.size() > 1) {
    html +=
        wide(html_table(frequency_table(solution),
                        "Azimuth of equal and of least crosstalk at each tone, with standard uncertainty u. R into L and L into R are the "
                        "crosstalk at the recommended azimuth."));
  }
  return html;
}

std::string steps(const Solution& solution) {
  if (solution.recommended.from_capture) {
    return html_heading("Steps") +
           wide(html_table(step_table(solution), "The azimuth of each step is found from the crosstalk; u is its standard uncertainty."));
  }
  return html_heading("Steps") + wide(html_table(full_step_table(solution),
                                                 "The correction to the logged azimuth is the azimuth from the signal minus the azimuth "
                                                 "logged; u is its standard uncertainty."));
}

std::string inputs(const Solution& solution) {
  std::string html = html_heading("Method, versions, inputs") + html_table(inputs_table(solution), "");
  const TextTable hashes = hash_table(solution);
  if (hashes.rows.size() > 1)
    html += wide(html_table(hashes, "Recordings that were analysed. The solution document has all 64 digits of each SHA-256."));
  return html;
}

std::string budget(const Solution& solution) {
  constexpr const char* kCaption =
      "Standard uncertainties u of the recommended azimuth. The combined one is the root of the sum of their squares.";
  return html_heading("Uncertainty budget") + wide(html_table(uncertainty_table(solution), kCaption));
}

/// The page is for the client. A misspelt key or column concerns only the person who wrote it.
Warnings warnings_for_client(const Solution& solution) {
  Warnings shown;
  std::copy_if(solution.warnings.begin(), solution.warnings.end(), std::back_inserter(shown),
               [](const Warning& w) { return w.code != WarningCode::kUnknownKey; });
  return shown;
}

std::string warnings(const Solution& solution) {
  const Warnings shown = warnings_for_client(solution);
  std::string html = html_heading("Warnings and what to do") + html_warnings(shown, shown.size());
  if (next_step_helps(solution)) html += html_paragraph("Next step: " + as_sentence(solution.next_step->why));
  return html;
}

}  // namespace
}  // namespace evenwall::internal::report

namespace evenwall {

std::string solution_page(const Solution& solution) {
  using namespace internal::report;
  if (!std::isfinite(solution.recommended.tilt_deg) || !std::isfinite(solution.recommended.u_deg) || !std::isfinite(solution.shim.move_deg))
    throw Error(ErrorKind::kData, "the solution contains no recommended azimuth. No page is written. Solve the session again.");
  const std::string title = solution.session.cartridge ? "Azimuth of " + internal::base::escaped(*solution.session.cartridge) : "Azimuth";
  std::string html = html_section("what-to-do", letter(solution));
  html += html_section("before-and-after", before_and_after(solution));
  html += html_section("cautions", html_heading("Take care") + html_list(cautions()));
  html += html_section("not-correctable", html_heading("Crosstalk that azimuth cannot remove") +
                                              html_paragraph(rest_sentence(solution.not_correctable)) + "<div class=\"pair\">\n<div>" +
                                              criteria(solution) + "</div>\n<div>" + balance(solution) + "</div>\n</div>\n" +
                                              choices(solution));
  html += html_section("charts", charts(solution));
  html += html_section("steps", steps(solution));
  html += "<div class=\"ending\">\n" + html_section("uncertainty", budget(solution));
  html += html_section("warnings", warnings(solution));
  html += html_section("inputs", inputs(solution)) + "</div>\n";
  return html_document(title, html);
}

}  // namespace evenwall
