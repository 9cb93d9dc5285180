// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/turn_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "base/counted.hpp"
#include "base/recording_name.hpp"
#include "base/text.hpp"
#include "report/number_format.hpp"
#include "report/page.hpp"
#include "report/solution_words.hpp"

namespace evenwall::internal::report {
namespace {

constexpr double kHalfHundredth_deg = 0.005;
constexpr double kThinnestShim_mm = 0.005;
constexpr double kSharp_deg = 0.02;       // a narrower interval is shown to 0.001°
constexpr double kVerySharp_deg = 0.002;  // to 0.0001°
constexpr std::size_t kMostOfName = 30;   // columns; a longer name would fill the lines of the brief view

/// Decimals that resolve the interval of a turn.
int decimals_of(const Now& now) {
  const double width_deg = now.interval95_deg[1] - now.interval95_deg[0];
  return width_deg < kVerySharp_deg ? 4 : width_deg < kSharp_deg ? 3 : 2;
}

/// "0.86° to 0.88°", as amounts in the direction of the turn.
std::string amounts_text(const Now& now) {
  const double sign = now.turn_deg < 0 ? -1 : 1;
  double low = sign * now.interval95_deg[0];
  double high = sign * now.interval95_deg[1];
  if (low > high) std::swap(low, high);
  return fmt::format("{0:.{2}f}° to {1:.{2}f}°", low, high, decimals_of(now));
}

/// Three decimals are finer than a hand can set.
std::string amount_text(const Now& now) {
  return fmt::format("{:.{}f}°", std::abs(now.turn_deg), std::min(decimals_of(now), kHandDecimals));
}

bool contains_zero(const Now& now) { return now.interval95_deg[0] <= 0 && now.interval95_deg[1] >= 0; }

const Verification* verification_of(const Solution& solution) {
  if (!solution.now || solution.now->from != TurnFrom::kVerify) return nullptr;
  const auto at = std::find_if(solution.verification.rbegin(), solution.verification.rend(),
                               [&](const Verification& v) { return base::same_part(v, *solution.now); });
  return at == solution.verification.rend() ? nullptr : &*at;
}

/// "0.19 mm for screws 12.7 mm apart". Requires: a height.
std::string height_words(const Now& now) {
  const double span_mm = *now.height_mm / std::tan(radians(std::abs(now.turn_deg)));
  return fmt::format("{:.2f} mm{}", *now.height_mm,
                     std::isfinite(span_mm) && span_mm > 0 ? fmt::format(" for screws {:.4g} mm apart", span_mm) : "");
}

}  // namespace

std::optional<PresentLevels> present_levels(const Solution& solution) {
  if (!solution.now || !solution.now->capture) return std::nullopt;
  if (const Verification* v = verification_of(solution)) {
    const auto step =
        std::find_if(solution.steps.begin(), solution.steps.end(), [&](const SolvedStep& s) { return base::same_part(s, *v) && !s.used; });
    return PresentLevels{v->right_into_left_db, v->left_into_right_db, step == solution.steps.end() ? OptionalNumber() : step->balance_db};
  }
  // An older document does not name the parts of a recording. The present one is that whose tilt by the signal is nearest to where the turn
  // starts.
  const double present_deg = solution.recommended.tilt_deg - solution.now->turn_deg;
  const SolvedStep* nearest = nullptr;
  for (const SolvedStep& step : solution.steps) {
    if (!base::same_part(step, *solution.now)) continue;
    const auto distance = [&](const SolvedStep& s) { return std::abs(s.tilt_from_signal_deg - present_deg); };
    if (nearest == nullptr || distance(step) < distance(*nearest)) nearest = &step;
  }
  if (nearest != nullptr) return PresentLevels{nearest->right_into_left_db, nearest->left_into_right_db, nearest->balance_db};
  return std::nullopt;
}

bool needs_no_turn(const Now& now) { return std::abs(now.turn_deg) < kHalfHundredth_deg; }

std::string side_unknown_words(const Solution& solution) {
  if (!solution.recommended.from_capture) return "";
  const double turn_deg = solution.now ? solution.now->turn_deg : solution.recommended.tilt_deg;
  if ((solution.now && contains_zero(*solution.now)) || solution.steps.size() < 2) return "in a direction that is not known";
  const SolvedStep& low = solution.steps.front();
  const SolvedStep& high = solution.steps.back();
  const auto name = [](const SolvedStep& s) { return shortened_inside(base::recording_name(s), kMostOfName); };
  return fmt::format("in the direction from {} towards {}", name(turn_deg > 0 ? low : high), name(turn_deg > 0 ? high : low));
}

std::string turn_headline(const Solution& solution) {
  const Recommended& r = solution.recommended;
  const Now now = solution.now.value_or(Now{r.from_capture, TurnFrom::kLast, r.tilt_deg, r.u_deg, r.interval95_deg, {}, {}, {}, {}, {}});
  const char* const verb = r.scope == Scope::kTurnOnAnyRecord ? "Turn" : "For this record, turn";
  const std::string from = now.capture ? "its position in " + origin_words(now) : origin_words(now);
  if (now.direction && *now.direction != TurnDirection::kNone)
    return fmt::format("{} the cartridge {} from {} (95 % interval {}).", verb, turn_words(now), from, amounts_text(now));
  if (contains_zero(now) || needs_no_turn(now)) {
    return fmt::format("{} the cartridge by {}° from {} (95 % interval {}).", verb, signed_text(now.turn_deg, now.u_deg, kHandDecimals),
                       from, interval_text(now.interval95_deg, now.u_deg, kHandDecimals));
  }
  return fmt::format("{} the cartridge by {} from {}, {} (95 % interval {}).", verb, amount_text(now), from, side_unknown_words(solution),
                     amounts_text(now));
}

std::string turn_words(const Now& now, const std::string& otherwise) {
  if (needs_no_turn(now)) return "none";
  if (now.direction && *now.direction != TurnDirection::kNone) {
    return fmt::format("{} by {}", *now.direction == TurnDirection::kClockwise ? "clockwise" : "anticlockwise", amount_text(now));
  }
  if (!otherwise.empty()) return fmt::format("by {} {}", amount_text(now), otherwise);
  return fmt::format("by {} towards {} numbers in the log", amount_text(now), now.turn_deg > 0 ? "higher" : "lower");
}

std::string origin_words(const Now& now) {
  return now.capture ? shortened_inside(base::recording_name(*now.capture, now.from_s, now.to_s), kMostOfName)
                     : "the azimuth that you stated";
}

std::string shim_words(const Now& now) {
  if (!now.height_mm || needs_no_turn(now) || *now.height_mm < kThinnestShim_mm) return "";
  const double span_mm = *now.height_mm / std::tan(radians(std::abs(now.turn_deg)));
  const std::string where = !now.place_shim_at                       ? "either screw"
                            : *now.place_shim_at == Side::kOuterSide ? "the outer screw"
                                                                     : "the spindle-side screw";
  return fmt::format("{:.2f} mm at {} ({:.4g} mm between the screws)", *now.height_mm, where, span_mm);
}

std::vector<std::string> turn_sentences(const Now& now, const std::string& otherwise) {
  if (needs_no_turn(now)) {
    return {fmt::format(
        "Leave the cartridge as in {0}. It is at the recommended azimuth (95 % interval of the turn {1:+.{3}f}° to {2:+.{3}f}°).",
        origin_words(now), now.interval95_deg[0], now.interval95_deg[1], decimals_of(now))};
  }
  if (!otherwise.empty() && contains_zero(now)) {
    return {
        fmt::format("Leave the cartridge as in {0}. The recordings do not show in which direction to turn it: the 95 % interval of the "
                    "turn, {1:+.{3}f}° to {2:+.{3}f}°, contains zero.",
                    origin_words(now), now.interval95_deg[0], now.interval95_deg[1], decimals_of(now))};
  }
  std::vector<std::string> said;
  const std::string by = !now.capture        ? ""
                         : otherwise.empty() ? " The crosstalk of that recording determines this turn, not the gauge."
                                             : " The crosstalk alone determines this turn.";
  if (now.direction) {
    const bool clockwise = *now.direction == TurnDirection::kClockwise;
    said.push_back(fmt::format("Turn the cartridge {} as seen from the front, from {} (95 % interval {}). Its {} side goes up.{}",
                               turn_words(now), origin_words(now), amounts_text(now), clockwise ? "spindle" : "outer", by));
  } else {
    said.push_back(otherwise.empty()
                       ? "The recordings do not show whether higher values in the log mean clockwise. So the program cannot name the side "
                         "that goes up."
                       : "The recordings do not show which direction is clockwise. So the program cannot name the side that goes up.");
    said.push_back(fmt::format("Turn the cartridge {}, from {} (95 % interval {}).{}", turn_words(now, otherwise), origin_words(now),
                               amounts_text(now), by));
  }
  if (now.turn_units && now.u_turn_units) {
    said.push_back(fmt::format("On the ruler of your log, the turn is {} (u {}).", signed_text(*now.turn_units, *now.u_turn_units, 3),
                               uncertainty_text(*now.u_turn_units, 3)));
  }
  if (now.height_mm && now.place_shim_at) {
    said.push_back(fmt::format(
        "If you use a shim, place it at the {} screw. Its height is {}. The cartridge hangs below the headshell, so a shim lowers the "
        "side at which it sits.",
        *now.place_shim_at == Side::kOuterSide ? "outer" : "spindle-side", height_words(now)));
  } else if (now.height_mm) {
    said.push_back(fmt::format("If you use a shim, its height is {}. Place it at either screw, then capture again.", height_words(now)));
  }
  return said;
}

std::optional<std::string> verified_headline(const Solution& solution) {
  if (!solution.verdict || !solution.now) return std::nullopt;
  const Now& now = *solution.now;
  const Verification* v = verification_of(solution);
  if (v == nullptr) return std::nullopt;
  const std::string name = base::recording_name(*v);
  if (!v->agrees) {
    return fmt::format(
        "Verification failed: {} is not as predicted. The turn that remains is {:+.2f}° (95 % interval {:+.2f}° to {:+.2f}°).", name,
        now.turn_deg, now.interval95_deg[0], now.interval95_deg[1]);
  }
  if (solution.verdict->state != VerdictState::kEnough) return std::nullopt;
  if (is_at_nearest_setting(solution)) {
    return fmt::format("Set and verified: {} shows the cartridge at {:g}, the adjuster's setting nearest to the recommended azimuth.", name,
                       solution.nearest_setting->setting);
  }
  return fmt::format("Set and verified: {} shows the azimuth within {:g}° of the recommended one.", name, solution.verdict->tolerance_deg);
}

bool is_at_nearest_setting(const Solution& solution) {
  return solution.verdict && solution.verdict->state == VerdictState::kEnough && solution.now && solution.nearest_setting &&
         std::abs(solution.now->turn_deg) > solution.verdict->tolerance_deg;
}

std::string nearest_setting_sentence(const Solution& solution) {
  if (!solution.nearest_setting || !solution.now) return "";
  const NearestSetting& nearest = *solution.nearest_setting;
  if (is_at_nearest_setting(solution)) {
    return fmt::format("No turn is needed: the adjuster is at {:g}, its setting nearest to the recommended azimuth, which is {:.3f}° away.",
                       nearest.setting, std::abs(nearest.from_recommended_deg));
  }
  const double turn_deg = solution.now->turn_deg + nearest.from_recommended_deg;
  const std::string side = !solution.now->direction ? "" : turn_deg < 0 ? " anticlockwise" : " clockwise";
  return fmt::format("With the adjuster, set {:g}: from {}, this is a turn of {:.2f}°{}.", nearest.setting, origin_words(*solution.now),
                     std::abs(turn_deg), side);
}

std::vector<std::string> correction_sentences(const std::vector<Correction>& corrections) {
  std::vector<std::string> said;
  for (const Correction& c : corrections) {
    const std::string which = c.applies_to.empty()       ? "no recording"
                              : c.applies_to.size() == 1 ? base::escaped(c.applies_to.front())
                                                         : base::counted(c.applies_to.size(), "recording");
    said.push_back(fmt::format("Corrected in {}, by {}: {}", which, base::escaped(c.from), as_sentence(c.text)));
  }
  return said;
}

std::string verdict_sentence(const Verdict& verdict) {
  const char* state = verdict.state == VerdictState::kEnough        ? "enough"
                      : verdict.state == VerdictState::kTurn        ? "turn"
                      : verdict.state == VerdictState::kCaptureMore ? "capture more"
                                                                    : "check";
  return fmt::format("Verdict ({}): {}", state, as_sentence(verdict.text));
}

}  // namespace evenwall::internal::report
