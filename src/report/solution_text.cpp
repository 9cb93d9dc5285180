// SPDX-License-Identifier: GPL-3.0-or-later
// Writes a solution as text for a terminal.
#include "base/text.hpp"
#include "evenwall/report.hpp"
#include "evenwall/words.hpp"
#include "report/headline.hpp"
#include "report/page.hpp"
#include "report/solution_tables.hpp"
#include "report/solution_words.hpp"
#include "report/trade_off_table.hpp"
#include "report/turn_words.hpp"

namespace evenwall::internal::report {
namespace {

void add_paragraphs(Page& page, const std::vector<std::string>& sentences, const std::string& mark = "  ") {
  for (const std::string& sentence : sentences) page.paragraph(sentence, mark);
}

void add_session(Page& page, const Solution& solution) {
  page.paragraph(azimuth_sentence(solution));
  page.paragraph(session_line(solution));
  page.paragraph("Basis: " + as_sentence(solution.recommended.why));
  if (const auto ruler = ruler_sentence(solution)) page.paragraph(*ruler);
}

void add_hand(Page& page, const Solution& solution) {
  page.heading("What to do");
  add_paragraphs(page, hand_sentences(solution));
  if (solution.verdict) page.paragraph(verdict_sentence(*solution.verdict));
  add_paragraphs(page, correction_sentences(solution.corrections));
}

void add_expectation(Page& page, const Solution& solution) {
  page.heading("Crosstalk, before and after");
  page.table(expectation_table(solution));
  page.paragraph(expectation_sentence(solution));
  for (const Verification& v : solution.verification) page.paragraph(verification_sentence(v));
}

void add_criteria(Page& page, const Solution& solution) {
  page.heading("Azimuth by each criterion");
  page.table(criteria_table(solution));
  add_paragraphs(page, criteria_sentences(solution));
  if (!solution.trade_off.empty()) {
    page.heading("What each choice gives");
    page.table(trade_off_table(solution));
    page.paragraph(trade_off_sentence(solution));
  }
  page.heading("Channel balance (positive: left louder)");
  add_paragraphs(page, balance_sentences(solution.balance));
  page.heading("Crosstalk that azimuth cannot remove");
  page.paragraph(rest_sentence(solution.not_correctable));
  if (solution.by_frequency.size() < 2) return;
  page.heading("Azimuth of equal and of least crosstalk at each tone");
  page.table(frequency_table(solution));
  page.paragraph("R into L and L into R are the crosstalk at the recommended azimuth.");
}

void add_hashes(Page& page, const Solution& solution) {
  const TextTable table = hash_table(solution);
  if (table.rows.size() < 2) return;
  page.heading("Recordings that were analysed (the JSON document has all 64 digits)");
  page.table(table);
}

void add_contact(Page& page, const Contact& contact) {
  const auto sentence = contact_sentence(contact);
  if (!sentence) return;
  page.heading("Stylus contact");
  page.paragraph(*sentence);
}

void add_warnings(Page& page, const Warnings& warnings) {
  if (warnings.empty()) return;
  page.heading("Warnings");
  for (const Warning& w : warnings) page.paragraph(enum_name(w.code) + ": " + base::escaped(w.message), "  - ");
}

void add_cautions(Page& page) {
  page.heading("Take care");
  add_paragraphs(page, cautions(), "  - ");
}

}  // namespace
}  // namespace evenwall::internal::report

namespace evenwall {

std::string solution_text(const Solution& solution, bool colour) {
  using namespace internal::report;
  Page page(colour ? Ink::kColour : Ink::kPlain);
  add_headline(page, solution, answer_sentence(solution));
  add_session(page, solution);
  add_hand(page, solution);
  add_expectation(page, solution);
  add_criteria(page, solution);
  add_contact(page, solution.contact);
  page.heading(solution.recommended.from_capture ? "Steps (azimuth from the signal)"
                                                 : "Steps (correction: azimuth from the signal minus azimuth logged)");
  page.table(step_table(solution));
  add_hashes(page, solution);
  page.heading("Uncertainty budget");
  page.table(uncertainty_table(solution));
  if (next_step_helps(solution)) {
    page.heading("Next step");
    page.paragraph(as_sentence(solution.next_step->why));
  }
  add_warnings(page, solution.warnings);
  add_cautions(page);
  return page.text();
}

}  // namespace evenwall
