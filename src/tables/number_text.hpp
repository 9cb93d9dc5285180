// SPDX-License-Identifier: GPL-3.0-or-later
// Reads numbers and names of columns as users write them in tables.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace evenwall::internal::tables {

/// The whole text as one finite number. Blanks around it, a leading +, a minus sign or an en dash (U+2212, U+2013) for a hyphen, and a
/// comma for the decimal point are allowed. (In a table with commas between its fields, a field that holds a comma was quoted.) Nothing
/// for any other text. Ignores the locale.
std::optional<double> parse_number(std::string_view text);

/// Does the same for a cell of this column. If the column holds angles or a tilt in units of the user, a degree sign may follow the number.
std::optional<double> parse_number_of(std::string_view column, std::string_view text);

/// The name of a column without blanks around it, in lower case: "Tilt_deg " and "tilt_deg" are the same column.
std::string column_name(std::string_view cell);

}  // namespace evenwall::internal::tables
