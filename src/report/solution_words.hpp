// SPDX-License-Identifier: GPL-3.0-or-later
// Describes a solution in sentences, which are the same on every page. Texts of the document are escaped for a terminal, not for HTML.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::report {

/// Introduces the azimuth and its sign to a reader.
inline constexpr const char* kAzimuth =
    "The azimuth is the cartridge's tilt angle, seen from the front with the spindle on the left. Positive is clockwise.";

/// The same for a solution: if no step has a logged tilt, azimuths count from the position in a recording.
std::string azimuth_sentence(const Solution& solution);

/// A text of the document, escaped, with a full stop at its end.
std::string as_sentence(const std::string& text);

/// Whether one more recording would reduce the uncertainty by more than a hundredth. Otherwise the document has the next step, and no view
/// shows it as advice.
bool next_step_helps(const Solution& solution);

/// The azimuth to set, with its 95 % interval.
std::string answer_sentence(const Solution& solution);

/// Whether the gauge of the log shows the recommended azimuth: the two numbers are alike within the standard uncertainty. The same holds if
/// one degree of the gauge is a degree by the crosstalk, within a 95 % interval, and the numbers differ by less than the tolerance.
bool gauge_shows_azimuth(const Solution& solution);

/// The one number for the hand, with its 95 % interval: the azimuth if the gauge shows it, otherwise the number on the gauge or ruler of
/// the log, with the azimuth in parentheses.
std::string setting_sentence(const Solution& solution);

/// How many degrees one unit of the gauge or ruler is. Nothing if the gauge shows the azimuth.
std::optional<std::string> unit_sentence(const Solution& solution);

/// The number to set on the ruler of the log, and its unit. Nothing if the gauge shows the azimuth.
std::optional<std::string> ruler_sentence(const Solution& solution);

/// "cartridge: No. 7; record: T1; frequency: 1000.0 Hz"
std::string session_line(const Solution& solution);

/// Whether the cartridge is already where it should be: the move is smaller than a hand can set.
bool stays_where_it_is(const Shim& shim);

/// The direction in which to turn, the side that goes up, and the position and thickness of a shim: from the present state, or, in a
/// document of an older version, from the zero of the log.
std::vector<std::string> hand_sentences(const Solution& solution);

/// Whether the tilt lies inside the stylus's limit, if a limit is known.
std::optional<std::string> contact_sentence(const Contact& contact);

/// What the table of crosstalk before and after shows, and whether its expected values were measured.
std::string expectation_sentence(const Solution& solution);

/// What the intervals of the criteria mean, and the reason for each criterion that is not determined.
std::vector<std::string> criteria_sentences(const Solution& solution);

/// The channel balance by each method that determined it, and the phase between the channels.
std::vector<std::string> balance_sentences(const Balance& balance);

/// The crosstalk that azimuth cannot remove.
std::string rest_sentence(const NotCorrectable& rest);

/// The result of a step that was kept for checking: captured and predicted levels, and whether they agree.
std::string verification_sentence(const Verification& verification);

std::vector<std::string> cautions();

/// The levels before the move: those of the as-found step, otherwise those of the present state, otherwise those of the step that is
/// nearest to where the move starts.
struct LevelsBefore {
  std::string name;
  double right_into_left_db, left_into_right_db;
  OptionalNumber balance_db;
};
std::optional<LevelsBefore> levels_before(const Solution& solution);

/// The balance from the source that the solution used.
OptionalNumber solved_balance_db(const Balance& balance);

/// A balance with its unit, or "n/a".
std::string balance_text(const OptionalNumber& balance_db);

/// Shim height with its unit, or "n/a".
std::string height_text(const Shim& shim);

bool has_flag(const SolvedStep& step, StepFlag flag);
/// Whether the step was excluded because its crosstalk differs from that of the other steps. Its tilt by the signal and its phases are then
/// not drawn.
bool is_set_aside(const SolvedStep& step);
/// The flags of a step, separated by spaces.
std::string flags_text(const std::vector<StepFlag>& flags);

}  // namespace evenwall::internal::report
