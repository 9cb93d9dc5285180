// SPDX-License-Identifier: GPL-3.0-or-later
// Makes a row for a step log that a user keeps, in the style of that log: its columns, separator, decimal mark and line ends.
#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "evenwall/model.hpp"

namespace evenwall::internal::tables {

/// The columns of a log for what a user types about a recording.
struct AnswerColumns {
  std::optional<std::string> tilt;  ///< "tilt_deg", or "tilt_units" if the log has only that one; nothing if it has neither
  bool use = false;                 ///< whether the log has the column "use"
  friend bool operator==(const AnswerColumns&, const AnswerColumns&) = default;
};

/// What a user has typed about a recording.
struct TypedAnswer {
  std::string tilt;              ///< with a decimal point and an ASCII sign
  std::optional<StepUse> use{};  ///< absent: none was typed
};

/// The columns of a log. A log without any text, or with comments alone, gets tilt_deg and use. Throws: Error(kInput) if the text has no
/// header row or no column for captures, or as CsvRows does.
AnswerColumns answer_columns_of(std::string_view log, const std::string& name);

/// Whether a log has no row below its header row, as a new log, or no text at all. Throws: Error(kInput) as CsvRows does.
bool is_without_rows(std::string_view log, const std::string& name);

/// A tilt as a user types it, and after it the use of the recording if it is stated: "1.5", "1.5 verify". Around the tilt, blanks are
/// allowed, and in it a comma or a point, U+2212 as the minus sign and a trailing °. The use is read as in a log (use_word.hpp).
/// Throws: Error(kInput) if the tilt is not a number, or out of the range of its column, if the other text is not a use, or if the log has
/// no column for this use. Requires: columns.tilt.
TypedAnswer typed_answer(std::string_view typed, const AnswerColumns& columns);

/// The text to add at the end of the log for a row with this capture and answer (from typed_answer). If every row has a number in the
/// column sequence, the new row has the next one. Other fields are blank. It begins with
/// a line end if the last line has none, and with a header row if the log has none. Requires: the log has the columns of the answer.
/// Throws: as answer_columns_of.
std::string added_row(std::string_view log, const std::string& name, std::string_view capture, const TypedAnswer& answer);

}  // namespace evenwall::internal::tables
