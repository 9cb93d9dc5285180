// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/solution_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "base/recording_name.hpp"
#include "base/text.hpp"
#include "evenwall/words.hpp"
#include "report/number_format.hpp"
#include "report/turn_words.hpp"

namespace evenwall::internal::report {
namespace {

constexpr double kNoMove_deg = 0.005;  // a hand cannot set a smaller move

constexpr double kUsualTolerance_deg = 0.05;  // if a document of an older version states none
constexpr double kScaleCoverage = 1.96;       // of 95 %

using Sentences = std::vector<std::string>;

bool is_logged_in_units(const Solution& solution) {
  return std::any_of(solution.steps.begin(), solution.steps.end(), [](const SolvedStep& s) { return s.tilt_units.has_value(); });
}

/// "95 % interval +1.111° to +1.155°" of the number on the gauge; empty if it has no bound.
std::string gauge_interval(const Solution& solution, const char* unit) {
  const auto& interval = solution.recommended.interval95_units;
  const bool known = interval && std::isfinite((*interval)[0]) && std::isfinite((*interval)[1]);
  return known ? fmt::format("95 % interval {:+.3f}{} to {:+.3f}{}", (*interval)[0], unit, (*interval)[1], unit) : "";
}

/// The tilt where the move starts. A zero is called the zero of the log, because a bare zero would be ambiguous.
std::string start_text(const Shim& shim) {
  return std::abs(shim.from_tilt_deg) < kNoMove_deg ? "0° (the zero of your log)" : degrees_text(shim.from_tilt_deg, 2);
}

/// The distance between the screws for which the height of a shim holds.
std::string span_text(const Shim& shim) {
  const double span_mm = shim.height_mm.value_or(0) / std::tan(radians(std::abs(shim.move_deg)));
  return std::isfinite(span_mm) && span_mm > 0 ? fmt::format(" for screws {:.4g} mm apart", span_mm) : "";
}

void add_turn_by_side(Sentences& said, const Shim& shim) {
  const bool clockwise = *shim.raises == Side::kSpindleSide;
  said.push_back(fmt::format("Turn the cartridge {} as seen from the front, by {:.2f}° from {}. Its {} side goes up.",
                             clockwise ? "clockwise" : "anticlockwise", std::abs(shim.move_deg), start_text(shim),
                             clockwise ? "spindle" : "outer"));
  said.push_back(fmt::format(
      "If you use a shim, place it at the {} screw. Its height is {}{}. The cartridge hangs below the headshell, so a shim lowers "
      "the side at which it sits.",
      *shim.place_shim_at == Side::kOuterSide ? "outer" : "spindle-side", height_text(shim), span_text(shim)));
}

void add_turn_by_steps(Sentences& said, const Solution& solution) {
  const Shim& shim = solution.shim;
  said.push_back(
      "The recordings do not show whether higher values in the log mean clockwise. So the program cannot name the side that goes up.");
  if (solution.steps.size() < 2) {
    said.push_back(fmt::format("Turn the cartridge by {:.2f}° towards the {} values of your own log.", std::abs(shim.move_deg),
                               shim.move_deg > 0 ? "higher" : "lower"));
  } else {
    const SolvedStep& low = solution.steps.front();
    const SolvedStep& high = solution.steps.back();
    const SolvedStep& from = shim.move_deg > 0 ? low : high;
    const SolvedStep& towards = shim.move_deg > 0 ? high : low;
    said.push_back(fmt::format("Turn the cartridge by {:.2f}° from {}, in the direction from step {} ({}) towards step {} ({}).",
                               std::abs(shim.move_deg), start_text(shim), base::recording_name(from), degrees_text(from.tilt_deg, 2),
                               base::recording_name(towards), degrees_text(towards.tilt_deg, 2)));
  }
  said.push_back(fmt::format("If you use a shim, its height is {}. Place it at either screw, then capture again.", height_text(shim)));
}

/// The step that is logged nearest to where the move starts, if possible not an excluded one. Callers show its tilt, which may differ from
/// the start.
const SolvedStep* nearest_step(const Solution& solution) {
  const double from_deg = solution.shim.from_tilt_deg;
  const auto distance = [&](const SolvedStep& s) { return is_set_aside(s) ? HUGE_VAL : std::abs(s.tilt_deg - from_deg); };
  const auto nearest = std::min_element(solution.steps.begin(), solution.steps.end(),
                                        [&](const SolvedStep& a, const SolvedStep& b) { return distance(a) < distance(b); });
  return nearest == solution.steps.end() ? nullptr : &*nearest;
}

/// "+0.42 dB (u 0.30 dB)"
std::string balance_with_u(double balance_db, double u_db) {
  return fmt::format("{} dB (u {} dB)", signed_text(balance_db, u_db), uncertainty_text(u_db));
}

}  // namespace

std::string as_sentence(const std::string& text) {
  const std::string shown = base::escaped(text);
  return shown.ends_with('.') ? shown : shown + ".";
}

std::string azimuth_sentence(const Solution& solution) {
  if (!solution.recommended.from_capture) return kAzimuth;
  const bool known = solution.tilt_response.sense != Sense::kUndecided;
  return fmt::format(
      "The azimuth is the cartridge's tilt angle, seen from the front with the spindle on the left. {} No azimuth is logged. "
      "All azimuths are found from the crosstalk, and count from the position of the cartridge in {}.",
      known ? "Positive is clockwise." : "It is not known whether positive is clockwise.",
      base::escaped(*solution.recommended.from_capture));
}

bool next_step_helps(const Solution& solution) {
  return solution.next_step && !(solution.next_step->u_deg_after > 0.99 * solution.recommended.u_deg);
}

std::string answer_sentence(const Solution& solution) {
  const Recommended& r = solution.recommended;
  if (r.from_capture) return turn_headline(solution);
  return fmt::format("{} the azimuth to {}° (95 % interval {}).", r.scope == Scope::kThisRecord ? "For this record, set" : "Set",
                     signed_text(r.tilt_deg, r.u_deg, kHandDecimals), interval_text(r.interval95_deg, r.u_deg, kHandDecimals));
}

bool gauge_shows_azimuth(const Solution& solution) {
  const Recommended& r = solution.recommended;
  if (!r.tilt_units) return true;
  if (is_logged_in_units(solution)) return false;
  const double off_deg = std::abs(*r.tilt_units - r.tilt_deg);
  if (off_deg < std::max(kNoMove_deg, r.u_deg)) return true;
  const TiltResponse& response = solution.tilt_response;
  const bool scale_is_one = std::abs(response.degrees_per_unit - 1) <= kScaleCoverage * response.u_degrees_per_unit;
  return scale_is_one && off_deg < (solution.verdict ? solution.verdict->tolerance_deg : kUsualTolerance_deg);
}

std::string setting_sentence(const Solution& solution) {
  const Recommended& r = solution.recommended;
  if (r.from_capture || gauge_shows_azimuth(solution)) return answer_sentence(solution);
  const bool units = is_logged_in_units(solution);
  const std::string range = gauge_interval(solution, units ? "" : "°");
  return fmt::format("{} the azimuth to {:+.3f}{} of your log ({}by the crosstalk, this is an azimuth of {}°).",
                     r.scope == Scope::kThisRecord ? "For this record, set" : "Set", *r.tilt_units,
                     units ? " on the ruler" : "° on the gauge", range.empty() ? "" : range + "; ",
                     signed_text(r.tilt_deg, r.u_deg, kHandDecimals));
}

std::optional<std::string> unit_sentence(const Solution& solution) {
  if (gauge_shows_azimuth(solution)) return std::nullopt;
  const TiltResponse& response = solution.tilt_response;
  return fmt::format("One {} is {}°, with standard uncertainty {}°.",
                     is_logged_in_units(solution) ? "unit of the ruler" : "degree of the gauge",
                     signed_text(response.degrees_per_unit, response.u_degrees_per_unit), uncertainty_text(response.u_degrees_per_unit));
}

std::optional<std::string> ruler_sentence(const Solution& solution) {
  if (gauge_shows_azimuth(solution)) return std::nullopt;
  const double per_unit = solution.tilt_response.degrees_per_unit;
  const std::string range = gauge_interval(solution, "");
  return fmt::format("On the ruler of your log, set {:+.3f}{}. One unit of the ruler is {}°, with standard uncertainty {}°.",
                     *solution.recommended.tilt_units, range.empty() ? "" : " (" + range + ")",
                     signed_text(per_unit, solution.tilt_response.u_degrees_per_unit),
                     uncertainty_text(solution.tilt_response.u_degrees_per_unit));
}

std::string session_line(const Solution& solution) {
  const SessionFacts& facts = solution.session;
  const auto fact = [&](const char* name, const std::optional<std::string>& value) {
    return value ? fmt::format("{}: {}; ", name, base::escaped(*value)) : std::string();
  };
  return fact("cartridge", facts.cartridge) + fact("record", facts.record) + fact("side", facts.record_side) + fact("rig", facts.rig) +
         fact("operator", facts.operator_name) + fact("date", facts.date) +
         (std::isfinite(solution.frequency_hz) ? fmt::format("frequency: {:.1f} Hz", solution.frequency_hz) : "frequency: unknown");
}

bool stays_where_it_is(const Shim& shim) { return std::abs(shim.move_deg) < kNoMove_deg; }

Sentences hand_sentences(const Solution& solution) {
  if (is_at_nearest_setting(solution)) return {nearest_setting_sentence(solution)};
  if (solution.now) {
    Sentences said = turn_sentences(*solution.now, side_unknown_words(solution));
    if (std::string with_adjuster = nearest_setting_sentence(solution); !with_adjuster.empty()) said.push_back(std::move(with_adjuster));
    return said;
  }
  const Shim& shim = solution.shim;
  if (stays_where_it_is(shim))
    return {fmt::format("Leave the cartridge at {}. It is already at the recommended azimuth.", start_text(shim))};
  Sentences said;
  if (shim.raises && shim.place_shim_at) {
    add_turn_by_side(said, shim);
  } else {
    add_turn_by_steps(said, solution);
  }
  said.push_back(
      fmt::format("An arm or headshell with azimuth adjustment needs no shim: turn the cartridge by {:.2f}°.", std::abs(shim.move_deg)));
  return said;
}

std::optional<std::string> contact_sentence(const Contact& contact) {
  if (!contact.limit_deg || !contact.inside) return std::nullopt;
  std::string words = fmt::format("The recommended azimuth is {} the limit of {:.2f}° from upright.", *contact.inside ? "inside" : "BEYOND",
                                  *contact.limit_deg);
  if (!*contact.inside && contact.best_inside_deg) {
    words += fmt::format(" The nearest azimuth inside it is {}.", degrees_text(*contact.best_inside_deg, 2));
  }
  return words;
}

Sentences criteria_sentences(const Solution& solution) {
  Sentences said{"Each interval holds for its own criterion."};
  const auto explain = [&said](const char* name, const Criterion& c) {
    if (!c.determined && c.why) said.push_back(fmt::format("{}: {}", name, as_sentence(*c.why)));
  };
  explain("Equal crosstalk", solution.equal_crosstalk);
  explain("Phase match", solution.phase_match);
  return said;
}

Sentences balance_sentences(const Balance& b) {
  Sentences said;
  if (b.from_levels_db && b.u_from_levels_db) {
    said.push_back(fmt::format("The levels give {}.", balance_with_u(*b.from_levels_db, *b.u_from_levels_db)));
  }
  if (b.from_tilt_response_db && b.u_from_tilt_response_db) {
    said.push_back(fmt::format("The change of crosstalk with azimuth gives {}.",
                               balance_with_u(*b.from_tilt_response_db, *b.u_from_tilt_response_db)));
  }
  if (b.preamplifier_db && b.u_preamplifier_db && b.cartridge_db && b.u_cartridge_db) {
    said.push_back(fmt::format("The swapped leads give {} for the preamplifier and {} for the cartridge.",
                               balance_with_u(*b.preamplifier_db, *b.u_preamplifier_db),
                               balance_with_u(*b.cartridge_db, *b.u_cartridge_db)));
  }
  if (b.interchannel_phase_deg)
    said.push_back(fmt::format("In phase, the left channel is {} ahead of the right channel.", degrees_text(*b.interchannel_phase_deg, 2)));
  return said;
}

std::string rest_sentence(const NotCorrectable& rest) {
  std::string text = fmt::format(
      "Azimuth cannot bring the rms crosstalk of both directions together below {}. Each direction alone can be lower at another "
      "azimuth.",
      decibels_text(rest.least_rms_crosstalk_db));
  if (!rest.rotation_quadrature_deg) return text;
  return text +
         fmt::format(
             " It cannot remove crosstalk of {} that both directions share (shear), nor a rotation of {} at 90° (quadrature rotation).",
             decibels_text(rest.shear_db), degrees_text(*rest.rotation_quadrature_deg, 3));
}

std::string expectation_sentence(const Solution& solution) {
  const std::string crosstalk = "Crosstalk is the part of one channel that appears in the other one. A lower level is better.";
  return solution.verification.empty() ? crosstalk + " The expected values are predicted, not measured." : crosstalk;
}

std::string verification_sentence(const Verification& v) {
  return fmt::format("{}: {} at {} has crosstalk of {} right into left and {} left into right. The prediction is {} and {}.{}",
                     v.agrees ? "Verified" : "NOT as predicted", base::recording_name(v), degrees_text(v.tilt_deg, 2),
                     decibels_text(v.right_into_left_db), decibels_text(v.left_into_right_db),
                     decibels_text(v.predicted_right_into_left_db), decibels_text(v.predicted_left_into_right_db),
                     v.agrees ? "" : " Check the setting of this step, and record it again.");
}

Sentences cautions() {
  return {"Turn the volume down before the stylus is lowered or a lead is touched: test tones harm ears and loudspeakers.",
          "Switch the equipment off before anything is rewired.", "A stylus is fragile: guard it while you work at the screws.",
          "The limits that the makers of cartridge, arm and stylus state take precedence over this page."};
}

std::optional<LevelsBefore> levels_before(const Solution& solution) {
  if (solution.as_found) {
    const AsFound& found = *solution.as_found;
    return LevelsBefore{"as found", found.right_into_left_db, found.left_into_right_db, found.balance_db};
  }
  if (const auto now = present_levels(solution)) {
    return LevelsBefore{"captured in " + origin_words(*solution.now), now->right_into_left_db, now->left_into_right_db, now->balance_db};
  }
  const SolvedStep* step = nearest_step(solution);
  if (step == nullptr) return std::nullopt;
  return LevelsBefore{fmt::format("captured at {}", degrees_text(step->tilt_deg, 2)), step->right_into_left_db, step->left_into_right_db,
                      step->balance_db};
}

OptionalNumber solved_balance_db(const Balance& balance) {
  return balance.used == BalanceSource::kLevels ? balance.from_levels_db : balance.from_tilt_response_db;
}

std::string balance_text(const OptionalNumber& balance_db) { return balance_db ? number_text(balance_db, 2, true) + " dB" : "n/a"; }

std::string height_text(const Shim& shim) { return shim.height_mm ? fmt::format("{:.2f} mm", *shim.height_mm) : "n/a"; }

bool has_flag(const SolvedStep& step, StepFlag flag) { return std::find(step.flags.begin(), step.flags.end(), flag) != step.flags.end(); }

bool is_set_aside(const SolvedStep& step) { return has_flag(step, StepFlag::kLeaksOff); }

std::string flags_text(const std::vector<StepFlag>& flags) {
  std::string all;
  for (const StepFlag flag : flags) all += (all.empty() ? "" : " ") + enum_name(flag);
  return all;
}

}  // namespace evenwall::internal::report
