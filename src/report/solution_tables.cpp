// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/solution_tables.hpp"

#include <fmt/format.h>

#include <cmath>
#include <set>
#include <utility>

#include "base/recording_name.hpp"
#include "base/text.hpp"
#include "report/number_format.hpp"
#include "report/solution_words.hpp"

namespace evenwall::internal::report {
namespace {

std::vector<std::string> level_row(const std::string& name, double right_into_left_db, double left_into_right_db, const std::string& note) {
  return {name, decibels_text(right_into_left_db), decibels_text(left_into_right_db), note};
}

std::vector<std::string> before_row(const Solution& solution) {
  const auto before = levels_before(solution);
  if (!before) return {};
  return level_row(before->name, before->right_into_left_db, before->left_into_right_db, balance_text(before->balance_db));
}

std::vector<std::string> criterion_row(const char* name, const Criterion& c) {
  if (!c.determined || !c.tilt_deg || !c.u_deg || !c.interval95_deg) return {name, "not determined", "", ""};
  return {name, signed_text(*c.tilt_deg, *c.u_deg) + "°", uncertainty_text(*c.u_deg) + "°", interval_text(*c.interval95_deg, *c.u_deg)};
}

/// Whether a term of the budget is zero only because nothing was stated about it.
bool is_unstated(const UncertaintyTerm& term, const Solution& solution) {
  const SessionFacts& facts = solution.session;
  const SolveOptions& options = solution.options;
  if (term.u_deg > 0) return false;
  if (term.source == "gauge zero") return !facts.gauge_zero_u_deg && !options.gauge_zero_u_deg;
  if (term.source == "record") return !facts.record_u_deg && !options.record_u_deg && !options.record_correction;
  return term.source == "electronics" && !facts.electronics_crosstalk_db && !facts.calibration && !options.calibration;
}

std::string logged_text(const SolvedStep& s) { return s.audit_deg ? degrees_text(s.tilt_deg, 2) : "not logged"; }

std::string correction_text(const SolvedStep& s) { return s.audit_deg ? signed_text(*s.audit_deg, s.u_audit_deg) + "°" : "n/a"; }

/// The steps of a session without logged tilts: there is nothing to correct.
TextTable turned_step_table(const Solution& solution) {
  TextTable table{{{"capture", "azimuth", "u", "R into L", "L into R", "fit", "flags"}}, true};
  for (const SolvedStep& s : solution.steps) {
    const bool zero = !(s.u_audit_deg > 0);
    table.rows.push_back({base::recording_name(s), degrees_text(s.tilt_deg, kHandDecimals),
                          zero ? "" : uncertainty_text(s.u_audit_deg) + "°", decibels_text(s.right_into_left_db),
                          decibels_text(s.left_into_right_db), s.used ? "yes" : "no", flags_text(s.flags)});
  }
  return table;
}

/// The first 12 digits of a SHA-256, or of both of a step that was joined from two recordings. With 12 digits, a match by chance of two
/// recordings has a probability of 4e-15.
std::string first_digits(const std::string& hash) {
  constexpr std::size_t kDigits = 12, kAll = 64;
  if (hash.size() <= kAll) return hash.substr(0, kDigits) + "…";
  return hash.substr(0, kDigits) + "… + " + hash.substr(hash.rfind(' ') + 1, kDigits) + "…";
}

}  // namespace

TextTable expectation_table(const Solution& solution) {
  TextTable table{{{"", "right into left", "left into right", "balance"}}};
  if (auto before = before_row(solution); !before.empty()) table.rows.push_back(std::move(before));
  const Recommended& r = solution.recommended;
  const std::string where = r.from_capture ? "expected after the turn" : fmt::format("expected at {}", degrees_text(r.tilt_deg, 2));
  table.rows.push_back(level_row(where, r.right_into_left_db, r.left_into_right_db, balance_text(solved_balance_db(solution.balance))));
  return table;
}

TextTable criteria_table(const Solution& solution) {
  const LeastCrosstalk& least = solution.least_crosstalk;
  return {{{"", "azimuth", "u", "95 % interval"},
           criterion_row("equal crosstalk", solution.equal_crosstalk),
           {"least crosstalk", signed_text(least.tilt_deg, least.u_deg) + "°", uncertainty_text(least.u_deg) + "°",
            interval_text(least.interval95_deg, least.u_deg)},
           criterion_row("phase match", solution.phase_match)}};
}

TextTable frequency_table(const Solution& solution) {
  TextTable table{{{"tone", "equal", "u", "least", "u", "R into L", "L into R"}}};
  for (const FrequencyResult& f : solution.by_frequency) {
    const bool equal = f.equal_crosstalk_deg && f.u_equal_crosstalk_deg;
    table.rows.push_back(
        {fmt::format("{:.1f} Hz", f.frequency_hz),
         equal ? signed_text(*f.equal_crosstalk_deg, *f.u_equal_crosstalk_deg) + "°" : "not determined",
         equal ? uncertainty_text(*f.u_equal_crosstalk_deg) + "°" : "", signed_text(f.least_crosstalk_deg, f.u_least_crosstalk_deg) + "°",
         uncertainty_text(f.u_least_crosstalk_deg) + "°", decibels_text(f.right_into_left_db), decibels_text(f.left_into_right_db)});
  }
  return table;
}

TextTable step_table(const Solution& solution) {
  if (solution.recommended.from_capture) return turned_step_table(solution);
  TextTable table{{{"capture", "logged", "correction", "u", "R into L", "L into R", "fit", "flags"}}, true};
  for (const SolvedStep& s : solution.steps) {
    table.rows.push_back({base::recording_name(s), logged_text(s), correction_text(s), uncertainty_text(s.u_audit_deg) + "°",
                          decibels_text(s.right_into_left_db), decibels_text(s.left_into_right_db), s.used ? "yes" : "no",
                          flags_text(s.flags)});
  }
  return table;
}

TextTable full_step_table(const Solution& solution) {
  const auto phase = [](const OptionalNumber& phase_deg) { return phase_deg ? ", " + degrees_text(*phase_deg, 0) : std::string(); };
  TextTable table{
      {{"capture", "logged", "from the signal", "correction", "u", "right into left", "left into right", "balance", "in the fit", "flags"}},
      true};
  for (const SolvedStep& s : solution.steps) {
    const std::string units = s.tilt_units ? fmt::format("{:g} = ", *s.tilt_units) : "";
    table.rows.push_back({base::recording_name(s), units + logged_text(s), degrees_text(s.tilt_from_signal_deg, 2), correction_text(s),
                          uncertainty_text(s.u_audit_deg) + "°", decibels_text(s.right_into_left_db) + phase(s.right_into_left_phase_deg),
                          decibels_text(s.left_into_right_db) + phase(s.left_into_right_phase_deg), balance_text(s.balance_db),
                          s.used ? "yes" : "no", flags_text(s.flags)});
  }
  return table;
}

TextTable hash_table(const Solution& solution) {
  TextTable table{{{"capture", "SHA-256 of the frames"}}, true};
  std::set<std::pair<std::string, std::string>> listed;  // many steps may use stretches of one recording
  const auto add = [&](const std::string& capture, const std::optional<std::string>& hash) {
    if (hash && listed.emplace(capture, *hash).second) table.rows.push_back({base::escaped(capture), first_digits(*hash)});
  };
  for (const SolvedStep& s : solution.steps) add(s.capture, s.audio_sha256);
  if (solution.as_found) add(solution.as_found->capture, solution.as_found->audio_sha256);
  return table;
}

TextTable uncertainty_table(const Solution& solution) {
  // From 1000 degrees of freedom on, Student's t agrees with the normal distribution to three digits.
  const auto freedom = [](const OptionalNumber& degrees) { return degrees && *degrees < 1000 ? fmt::format("{:.1f}", *degrees) : "∞"; };
  TextTable table{{{"source", "u", "degrees of freedom", "shared by all steps"}}};
  for (const UncertaintyTerm& t : solution.uncertainty) {
    table.rows.push_back({base::escaped(t.source), is_unstated(t, solution) ? "not stated" : fmt::format("{:.4f}°", t.u_deg),
                          freedom(t.degrees_of_freedom), t.common ? "yes" : "no"});
  }
  const Recommended& r = solution.recommended;
  table.rows.push_back({"combined", fmt::format("{:.4f}°", r.u_deg), freedom(r.degrees_of_freedom), ""});
  return table;
}

}  // namespace evenwall::internal::report
