// SPDX-License-Identifier: GPL-3.0-or-later
// Reads numbers as users write them in tables.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace evenwall::internal::tables {

enum class DecimalMark { kPoint, kPointOrComma };

/// The whole text as one finite number; blanks around it and a leading + are allowed. Nothing for any other text. Ignores the locale.
std::optional<double> parse_number(std::string_view text, DecimalMark mark);

}  // namespace evenwall::internal::tables
