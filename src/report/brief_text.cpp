// SPDX-License-Identifier: GPL-3.0-or-later
// Writes a solution as at most 24 lines of 80 columns, the answer first.
#include <fmt/format.h>

#include <algorithm>

#include "base/counted.hpp"
#include "base/recording_name.hpp"
#include "base/text.hpp"
#include "evenwall/report.hpp"
#include "evenwall/words.hpp"
#include "report/headline.hpp"
#include "report/number_format.hpp"
#include "report/page.hpp"
#include "report/solution_words.hpp"
#include "report/turn_words.hpp"

namespace evenwall::internal::report {
namespace {

constexpr std::size_t kMostLines = 24;
constexpr std::size_t kMostFlagged = 3;      // further flagged steps are counted
constexpr std::size_t kMostCorrections = 2;  // further ones are counted
constexpr const char* kAzimuthShort = "The azimuth is the tilt seen from the front. Positive is clockwise.";
constexpr const char* kMore = "evenwall solve --full shows criteria, steps, uncertainty budget and cautions.";
constexpr const char* kCaution = "Turn the volume down before the stylus is lowered. Switch off before rewiring.";

std::size_t lines_of(const std::string& text) { return static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n')); }

std::string one_line(const std::string& words) { return shortened(words, kPageColumns - 4); }

std::string azimuth_line(const Solution& solution) {
  if (!solution.recommended.from_capture) return kAzimuthShort;
  return solution.tilt_response.sense == Sense::kUndecided
             ? "No azimuth is logged. The crosstalk shows the turn, but not which side is clockwise."
             : "No azimuth is logged. The crosstalk shows the turn, as seen from the front.";
}

void add_line(Page& page, const std::string& words) { page.paragraph(shortened(words, kPageColumns - 2)); }

void add_turn_lines(Page& page, const Solution& solution) {
  const std::string with_adjuster = nearest_setting_sentence(solution);
  if (is_at_nearest_setting(solution)) {
    page.paragraph(with_adjuster);
  } else if (solution.now) {
    const Now& now = *solution.now;
    std::string turn = fmt::format("Turn from {}: {}", origin_words(now), turn_words(now, side_unknown_words(solution)));
    if (now.turn_units) turn += fmt::format(", {} on your ruler", signed_text(*now.turn_units, now.u_turn_units.value_or(0.01), 3));
    page.paragraph(turn + ".");
    if (const std::string shim = shim_words(now); !shim.empty() && with_adjuster.empty())
      page.paragraph("Shim for this turn: " + shim + ".");
    if (!with_adjuster.empty()) page.paragraph(with_adjuster);
  }
  if (const auto unit = unit_sentence(solution)) page.paragraph(*unit);
}

/// Crosstalk of the as-found state, of the present one, and as expected.
TextTable levels_table(const Solution& solution) {
  TextTable table{{{"crosstalk", "right into left", "left into right", "balance"}}, false};
  const auto row = [&](const std::string& name, double rl, double lr, const OptionalNumber& balance_db) {
    table.rows.push_back({name, decibels_text(rl), decibels_text(lr), balance_text(balance_db)});
  };
  if (const auto& found = solution.as_found) row("as found", found->right_into_left_db, found->left_into_right_db, found->balance_db);
  if (const auto now = present_levels(solution)) {
    row("now (" + origin_words(*solution.now) + ")", now->right_into_left_db, now->left_into_right_db, now->balance_db);
  }
  const Recommended& r = solution.recommended;
  const bool shows_azimuth = !r.from_capture && gauge_shows_azimuth(solution);
  row(shows_azimuth ? "expected at " + degrees_text(r.tilt_deg, 2) : "expected after the turn", r.right_into_left_db, r.left_into_right_db,
      solved_balance_db(solution.balance));
  return table;
}

void add_flagged(Page& page, const Solution& solution) {
  std::size_t flagged = 0;
  for (const SolvedStep& step : solution.steps) {
    if (step.flags.empty() || ++flagged > kMostFlagged) continue;
    if (!step.audit_deg) {
      add_line(page, fmt::format("Step {}: {}.", shortened_inside(base::recording_name(step), 30), flags_text(step.flags)));
      continue;
    }
    add_line(page, fmt::format("Step {}, logged at {}: {}.", shortened_inside(base::recording_name(step), 30),
                               step.logged ? fmt::format("{:+g}", *step.logged) : degrees_text(step.tilt_deg, 2), flags_text(step.flags)));
  }
  if (flagged > kMostFlagged) add_line(page, base::counted(flagged - kMostFlagged, "more step is flagged.", "more steps are flagged."));
}

void add_corrections(Page& page, const Solution& solution) {
  const std::vector<std::string> corrected = correction_sentences(solution.corrections);
  for (std::size_t i = 0; i < std::min(corrected.size(), kMostCorrections); ++i) add_line(page, corrected[i]);
  if (corrected.size() > kMostCorrections)
    add_line(page, base::counted(corrected.size() - kMostCorrections, "more correction.", "more corrections."));
}

/// The place of a warning among the others: those that may change the direction or the answer come first.
int rank_of(WarningCode code) {
  switch (code) {
    case WarningCode::kVerificationFailed:
      return 0;
    case WarningCode::kSwappedOrReversed:
    case WarningCode::kPolarityReversed:
    case WarningCode::kStepsContradict:
    case WarningCode::kSeveralSettings:
      return 1;
    case WarningCode::kStepOff:
    case WarningCode::kLeaksOff:
    case WarningCode::kStepUnreadable:
    case WarningCode::kGaugeUnderstated:
      return 2;
    case WarningCode::kUnknownKey:
      return 4;
    default:
      return 3;
  }
}

void add_warning_lines(Page& page, Warnings warnings) {
  std::stable_sort(warnings.begin(), warnings.end(), [](const Warning& a, const Warning& b) { return rank_of(a.code) < rank_of(b.code); });
  const std::size_t used = lines_of(page.text()) + 2;  // the two closing lines
  const std::size_t room = kMostLines > used ? kMostLines - used : 1;
  const std::size_t shown = warnings.size() <= room ? warnings.size() : room - 1;
  for (std::size_t i = 0; i < shown; ++i) {
    page.paragraph(one_line(enum_name(warnings[i].code) + ": " + base::escaped(warnings[i].message)), "- ");
  }
  if (shown < warnings.size())
    page.paragraph(base::counted(warnings.size() - shown, "more warning. --full shows all.", "more warnings. --full shows all."), "- ");
}

}  // namespace
}  // namespace evenwall::internal::report

namespace evenwall {

std::string solution_brief(const Solution& solution, bool colour) {
  using namespace internal::report;
  Page page(colour ? Ink::kColour : Ink::kPlain);
  add_headline(page, solution, setting_sentence(solution));
  page.paragraph(azimuth_line(solution));
  add_line(page, session_line(solution));
  if (solution.recommended.basis == Basis::kBetween) add_line(page, "Basis: " + as_sentence(solution.recommended.why));
  add_turn_lines(page, solution);
  page.table(levels_table(solution));
  if (solution.verdict) page.paragraph(verdict_sentence(*solution.verdict));
  add_flagged(page, solution);
  add_corrections(page, solution);
  add_warning_lines(page, solution.warnings);
  page.paragraph(kCaution);
  page.paragraph(kMore);
  return page.text();
}

}  // namespace evenwall
