// SPDX-License-Identifier: GPL-3.0-or-later
// Cells of the CSV that this program writes.
#pragma once

#include <string>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// RFC 4180 quoting; control characters shown; a text that a spreadsheet would take for a formula gets a leading apostrophe.
std::string text_cell(const std::string& text);

/// Decimal point, as many digits as read back the same; nothing where there is no value.
std::string number_cell(const OptionalNumber& value);

}  // namespace evenwall::internal::app
