// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/letter.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "base/recording_name.hpp"
#include "base/text.hpp"
#include "report/number_format.hpp"
#include "report/solution_words.hpp"
#include "report/turn_words.hpp"

namespace evenwall::internal::report {
namespace {

std::string stated(const std::optional<std::string>& value, const char* otherwise) { return value ? base::escaped(*value) : otherwise; }

std::string record_words(const SessionFacts& facts) {
  if (!facts.record) return "a test record";
  std::string words = "the test record " + base::escaped(*facts.record);
  if (facts.record_side) words += ", side " + base::escaped(*facts.record_side);
  return words;
}

std::string levels_words(double right_into_left_db, double left_into_right_db) {
  return fmt::format("{} of the right channel in the left one, and {} of the left channel in the right one",
                     decibels_text(right_into_left_db), decibels_text(left_into_right_db));
}

/// The verification that shows the present state, if it agrees.
const Verification* agreeing_verification(const Solution& solution) {
  if (!solution.now || solution.now->from != TurnFrom::kVerify) return nullptr;
  const auto at = std::find_if(solution.verification.begin(), solution.verification.end(),
                               [&](const Verification& v) { return base::same_part(v, *solution.now) && v.agrees; });
  return at == solution.verification.end() ? nullptr : &*at;
}

std::string found_sentence(const Solution& solution) {
  if (const auto& found = solution.as_found) {
    return fmt::format("As the cartridge came, the crosstalk was {}.", levels_words(found->right_into_left_db, found->left_into_right_db));
  }
  const Recommended& r = solution.recommended;
  return fmt::format("At the azimuth below we expect crosstalk of {}.", levels_words(r.right_into_left_db, r.left_into_right_db));
}

std::string outcome_sentence(const Solution& solution) {
  if (is_at_nearest_setting(solution)) {
    return fmt::format(
        "The cartridge is set to {:g}, the setting of its adjuster that is nearest to the azimuth below. It is {:.2f}° from it, "
        "and the total crosstalk there differs by {:.2f} dB from that at the azimuth below.",
        solution.nearest_setting->setting, std::abs(solution.nearest_setting->from_recommended_deg),
        std::abs(solution.nearest_setting->cost_db));
  }
  const bool is_set = solution.verdict && solution.verdict->state == VerdictState::kEnough;
  if (const Verification* v = agreeing_verification(solution); v != nullptr && is_set) {
    return fmt::format("The cartridge is set to the azimuth below. A recording after the setting verifies this: the crosstalk is now {}.",
                       levels_words(v->right_into_left_db, v->left_into_right_db));
  }
  if (is_set) return "The cartridge is set to the azimuth below. No recording after the setting has verified this.";
  if (solution.verdict && solution.verdict->state == VerdictState::kCheck) {
    return "The setting is not final: recordings contradict each other, and must be checked (see the verdict).";
  }
  return "The cartridge is still to be set as described below. A recording after the setting will verify it.";
}

}  // namespace

std::vector<std::string> letter_head(const Solution& solution) {
  const SessionFacts& facts = solution.session;
  std::vector<std::string> head;
  if (facts.client) head.push_back("To: " + base::escaped(*facts.client));
  if (facts.workshop) head.push_back("From: " + base::escaped(*facts.workshop));
  if (facts.date) head.push_back("Date: " + base::escaped(*facts.date));
  return head;
}

std::vector<std::string> letter_sentences(const Solution& solution) {
  const SessionFacts& facts = solution.session;
  std::string name = stated(facts.cartridge, "your cartridge");
  if (facts.cartridge && facts.cartridge_model) name += " (" + base::escaped(*facts.cartridge_model) + ")";
  return {fmt::format("We examined {} with {}. The two walls of a groove carry the two channels. At the right azimuth the cartridge serves "
                      "both walls alike, and little of one channel appears in the other (crosstalk). A lower level is better.",
                      name, record_words(facts)),
          found_sentence(solution) + " " + outcome_sentence(solution)};
}

Shim drawn_move(const Solution& solution) {
  if (!solution.now) return solution.shim;
  const Now& now = *solution.now;
  Shim move;
  move.from_tilt_deg = solution.recommended.tilt_deg - now.turn_deg;
  move.move_deg = now.turn_deg;
  move.height_mm = now.height_mm;
  move.place_shim_at = now.place_shim_at;
  if (now.place_shim_at) move.raises = *now.place_shim_at == Side::kOuterSide ? Side::kSpindleSide : Side::kOuterSide;
  return move;
}

}  // namespace evenwall::internal::report
