#include "report/solution_tables.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "report/number_format.hpp"

namespace evenwall {
namespace {

std::vector<std::string> level_row(const std::string& name, double right_into_left_db, double left_into_right_db, const std::string& note) {
  return {name, decibels_text(right_into_left_db), decibels_text(left_into_right_db), note};
}

std::string balance_text(const OptionalNumber& balance_db) { return balance_db ? number_text(balance_db, 2, true) + " dB" : "n/a"; }

/// The step the move starts from; where the log has none near, the nearest stands for it and is named.
const SolvedStep* nearest_step(const Solution& solution) {
  const double from_deg = solution.shim.from_tilt_deg;
  const auto distance = [&](const SolvedStep& s) { return std::abs(s.tilt_deg - from_deg); };
  const auto nearest = std::min_element(solution.steps.begin(), solution.steps.end(),
                                        [&](const SolvedStep& a, const SolvedStep& b) { return distance(a) < distance(b); });
  return nearest == solution.steps.end() ? nullptr : &*nearest;
}

std::vector<std::string> before_row(const Solution& solution) {
  if (solution.as_found) {
    const AsFound& found = *solution.as_found;
    return level_row("as found", found.right_into_left_db, found.left_into_right_db, balance_text(found.balance_db));
  }
  const SolvedStep* step = nearest_step(solution);
  if (step == nullptr) return {};
  return level_row(fmt::format("captured at {}", degrees_text(step->tilt_deg, 2)), step->right_into_left_db, step->left_into_right_db,
                   balance_text(step->balance_db));
}

OptionalNumber solved_balance_db(const Balance& balance) {
  return balance.used == BalanceSource::kLevels ? balance.from_levels_db : balance.from_tilt_response_db;
}

void add_verification(Page& page, const Verification& v) {
  page.paragraph(fmt::format("{}: {} at {} reads {} right into left and {} left into right; predicted {} and {}.",
                             v.agrees ? "Verified" : "NOT as predicted", escaped(v.capture), degrees_text(v.tilt_deg, 2),
                             decibels_text(v.right_into_left_db), decibels_text(v.left_into_right_db),
                             decibels_text(v.predicted_right_into_left_db), decibels_text(v.predicted_left_into_right_db)));
}

std::vector<std::string> criterion_row(const char* name, const Criterion& c) {
  if (!c.determined || !c.tilt_deg || !c.u_deg || !c.interval95_deg) return {name, "not determined", ""};
  return {name, signed_with_uncertainty(*c.tilt_deg, *c.u_deg) + "°", interval_text(*c.interval95_deg, *c.u_deg)};
}

void explain(Page& page, const char* name, const Criterion& c) {
  if (!c.determined && c.why) page.paragraph(fmt::format("{}: {}.", name, escaped(*c.why)));
}

void add_balance(Page& page, const Balance& b) {
  page.heading("Channel balance (positive: left louder)");
  if (b.from_levels_db && b.u_from_levels_db) {
    page.paragraph(fmt::format("by levels {} dB", signed_with_uncertainty(*b.from_levels_db, *b.u_from_levels_db)));
  }
  if (b.from_tilt_response_db && b.u_from_tilt_response_db) {
    page.paragraph(
        fmt::format("by the tilt response {} dB", signed_with_uncertainty(*b.from_tilt_response_db, *b.u_from_tilt_response_db)));
  }
  if (b.preamplifier_db && b.u_preamplifier_db && b.cartridge_db && b.u_cartridge_db) {
    page.paragraph(fmt::format("by the swapped leads: the preamplifier's own {} dB, the cartridge's own {} dB",
                               signed_with_uncertainty(*b.preamplifier_db, *b.u_preamplifier_db),
                               signed_with_uncertainty(*b.cartridge_db, *b.u_cartridge_db)));
  }
  if (b.interchannel_phase_deg) {
    page.paragraph(fmt::format("phase, left before right {}", degrees_text(*b.interchannel_phase_deg, 2)));
  }
}

std::string joined(const std::vector<std::string>& words) {
  std::string all;
  for (const std::string& w : words) all += (all.empty() ? "" : " ") + escaped(w);
  return all;
}

}  // namespace

void add_expectation(Page& page, const Solution& solution) {
  page.heading("Crosstalk, before and after");
  TextTable table{{{"", "right into left", "left into right", "balance"}}};
  if (auto before = before_row(solution); !before.empty()) table.rows.push_back(std::move(before));
  const Recommended& r = solution.recommended;
  table.rows.push_back(level_row(fmt::format("expected at {}", degrees_text(r.tilt_deg, 2)), r.right_into_left_db, r.left_into_right_db,
                                 balance_text(solved_balance_db(solution.balance))));
  page.table(table);
  for (const Verification& v : solution.verification) add_verification(page, v);
}

void add_criteria(Page& page, const Solution& solution) {
  page.heading("Criteria");
  const LeastCrosstalk& least = solution.least_crosstalk;
  page.table(
      {{{"", "tilt ± u", "95 % interval"},
        criterion_row("equal crosstalk", solution.equal_crosstalk),
        {"least crosstalk", signed_with_uncertainty(least.tilt_deg, least.u_deg) + "°", interval_text(least.interval95_deg, least.u_deg)},
        criterion_row("phase match", solution.phase_match)}});
  explain(page, "Equal crosstalk", solution.equal_crosstalk);
  explain(page, "Phase match", solution.phase_match);
  add_balance(page, solution.balance);
  const NotCorrectable& rest = solution.not_correctable;
  page.heading("What tilt can't mend");
  std::string text = fmt::format("No tilt brings the rms crosstalk below {}.", decibels_text(rest.least_rms_crosstalk_db));
  if (rest.rotation_quadrature_deg) {
    text += fmt::format(" What stays is shear {} and a quadrature rotation of {}.", decibels_text(rest.shear_db),
                        degrees_text(*rest.rotation_quadrature_deg, 3));
  }
  page.paragraph(text);
}

void add_frequencies(Page& page, const Solution& solution) {
  if (solution.by_frequency.size() < 2) return;
  page.heading("By frequency");
  TextTable table{{{"tone", "equal crosstalk", "least crosstalk"}}};
  for (const FrequencyResult& f : solution.by_frequency) {
    const bool equal = f.equal_crosstalk_deg && f.u_equal_crosstalk_deg;
    table.rows.push_back({fmt::format("{:.1f} Hz", f.frequency_hz),
                          equal ? signed_with_uncertainty(*f.equal_crosstalk_deg, *f.u_equal_crosstalk_deg) + "°" : "not determined",
                          signed_with_uncertainty(f.least_crosstalk_deg, f.u_least_crosstalk_deg) + "°"});
  }
  page.table(table);
}

void add_steps(Page& page, const Solution& solution) {
  page.heading("Steps (audit: tilt by the signal minus tilt logged)");
  TextTable table{{{"capture", "logged", "audit ± u", "R into L", "L into R", "fit", "flags"}}, true};
  for (const SolvedStep& s : solution.steps) {
    table.rows.push_back({escaped(s.capture), degrees_text(s.tilt_deg, 2), signed_with_uncertainty(s.audit_deg, s.u_audit_deg) + "°",
                          decibels_text(s.right_into_left_db), decibels_text(s.left_into_right_db), s.used ? "yes" : "no",
                          joined(s.flags)});
  }
  page.table(table);
}

void add_uncertainty(Page& page, const Solution& solution) {
  page.heading("Where the uncertainty comes from");
  TextTable table{{{"source", "u", "degrees of freedom", "shared by all steps"}}};
  for (const UncertaintyTerm& t : solution.uncertainty) {
    table.rows.push_back({escaped(t.source), fmt::format("{:.4f}°", t.u_deg),
                          t.degrees_of_freedom ? fmt::format("{:.1f}", *t.degrees_of_freedom) : "many", t.common ? "yes" : "no"});
  }
  table.rows.push_back({"together", fmt::format("{:.4f}°", solution.recommended.u_deg),
                        solution.recommended.degrees_of_freedom ? fmt::format("{:.1f}", *solution.recommended.degrees_of_freedom) : "many",
                        ""});
  page.table(table);
}

}  // namespace evenwall
