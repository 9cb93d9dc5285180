// SPDX-License-Identifier: GPL-3.0-or-later
// Describes in sentences the turn that remains and the verdict. Texts of the document are escaped for a terminal, not for HTML.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::report {

/// The crosstalk of the recording from which the turn counts, and its balance.
struct PresentLevels {
  double right_into_left_db, left_into_right_db;
  OptionalNumber balance_db;
};
std::optional<PresentLevels> present_levels(const Solution& solution);

/// Whether the present state is as good as a hand can set it.
bool needs_no_turn(const Now& now);

/// The direction of a turn without a known side, if no tilt is logged: "in the direction from a.wav towards b.wav", or that it is not
/// known. Empty for solutions with a log.
std::string side_unknown_words(const Solution& solution);

/// "clockwise by 0.87°", "by 0.87° towards higher numbers in the log" (or `otherwise`) if the side is not known, or "none".
std::string turn_words(const Now& now, const std::string& otherwise = "");

/// The answer of a solution without logged tilts: the turn from the position in a recording, with its 95 % interval.
std::string turn_headline(const Solution& solution);

/// The state from which the turn counts: "step-05.wav" or "the azimuth that you stated".
std::string origin_words(const Now& now);

/// Whether the work is done at the adjuster's nearest setting, although the recommended azimuth is out of reach.
bool is_at_nearest_setting(const Solution& solution);

/// The turn to the adjuster's nearest setting, or that it is reached. Empty without such a setting or without a turn.
std::string nearest_setting_sentence(const Solution& solution);

/// "0.19 mm at the outer screw (12.7 mm between the screws)". Empty without a height.
std::string shim_words(const Now& now);

/// The turn with its direction and interval, the shim, and the change of the number in the log.
std::vector<std::string> turn_sentences(const Now& now, const std::string& otherwise = "");

/// The headline if a verification was made: set and verified, or failed with the turn that remains. Empty without one.
std::optional<std::string> verified_headline(const Solution& solution);

/// What was corrected, for which recordings and by what: one sentence for each correction.
std::vector<std::string> correction_sentences(const std::vector<Correction>& corrections);

/// The verdict, with its state in words before it.
std::string verdict_sentence(const Verdict& verdict);

}  // namespace evenwall::internal::report
