// SPDX-License-Identifier: GPL-3.0-or-later
// Formats the cells of the CSV that this program writes.
#pragma once

#include <string>

#include "evenwall/model.hpp"

namespace evenwall::internal::app {

/// Quoting by RFC 4180 (2005, from memory), with escaped control characters. A text that a spreadsheet would take for a formula gets a
/// leading apostrophe.
std::string text_cell(const std::string& text);

/// A number with a decimal point and enough digits to read back the same value. Empty if there is no value.
std::string number_cell(const OptionalNumber& value);

}  // namespace evenwall::internal::app
