// SPDX-License-Identifier: GPL-3.0-or-later
// What a solution says, in words: the same on every page. Texts of the document come escaped for a terminal, not for HTML.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::report {

/// The tilt to set, with its uncertainty and 95 % interval.
std::string answer_sentence(const Solution& solution);

/// The number to set on the logged ruler, where that is not simply the tilt.
std::optional<std::string> ruler_sentence(const Solution& solution);

/// "cartridge No. 7; record T1; at 1000.0 Hz"
std::string session_line(const Solution& solution);

/// Whether the cartridge is where it should be already.
bool stays_where_it_is(const Shim& shim);

/// Which way to turn, which side goes up, where a shim goes and how thick.
std::vector<std::string> hand_sentences(const Solution& solution);

/// Where the tilt lies against the stylus's limit, if one is known.
std::optional<std::string> contact_sentence(const Contact& contact);

/// Why a criterion has no answer, for each that has none.
std::vector<std::string> criteria_sentences(const Solution& solution);

/// The channel balance by each way of finding it, and the channels' phase.
std::vector<std::string> balance_sentences(const Balance& balance);

/// What no tilt takes away.
std::string rest_sentence(const NotCorrectable& rest);

/// How a step kept for checking came out.
std::string verification_sentence(const Verification& verification);

std::vector<std::string> cautions();

/// Levels as found: the step of that use, else the one nearest to where the move starts.
struct LevelsBefore {
  std::string name;
  double right_into_left_db, left_into_right_db;
  OptionalNumber balance_db;
};
std::optional<LevelsBefore> levels_before(const Solution& solution);

/// The balance that the answer counts with.
OptionalNumber solved_balance_db(const Balance& balance);

/// A balance with its unit, or "n/a".
std::string balance_text(const OptionalNumber& balance_db);

/// Shim height with its unit, or "n/a".
std::string height_text(const Shim& shim);

bool has_flag(const SolvedStep& step, StepFlag flag);
/// Whether the step's leaks are not those of the others: what they tell of tilt and phase is then nothing to draw.
bool is_set_aside(const SolvedStep& step);
/// The flags of a step, apart by spaces.
std::string flags_text(const std::vector<StepFlag>& flags);

}  // namespace evenwall::internal::report
