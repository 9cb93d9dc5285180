// SPDX-License-Identifier: GPL-3.0-or-later
// Makes a row for a step log that a user keeps, in the style of that log: its columns, separator, decimal mark and line ends.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace evenwall::internal::tables {

/// The name of the tilt column of a log: "tilt_deg", or "tilt_units" if the log has only that one. A log without any text gets tilt_deg.
/// Nothing if the log has no tilt column. Throws: Error(kInput) if the text has no header row or no column for captures, or as
/// CsvRows does.
std::optional<std::string> tilt_column_of(std::string_view log, const std::string& name);

/// A tilt as a user types it: blanks around it, a comma or a point, U+2212 as the minus sign and a trailing ° are allowed. Returns it with
/// a decimal point and an ASCII sign. Throws: Error(kInput) if it is not a number, or out of the range of `column` ("tilt_deg",
/// "tilt_units").
std::string typed_tilt(std::string_view typed, const std::string& column);

/// The text to add at the end of the log for a row with this capture and tilt (from typed_tilt). Other fields are blank. It begins with a
/// line end if the last line has none, and with a header row if the log has no text. Requires: tilt_column_of(log) is a column.
/// Throws: as tilt_column_of.
std::string added_row(std::string_view log, const std::string& name, std::string_view capture, std::string_view tilt);

}  // namespace evenwall::internal::tables
