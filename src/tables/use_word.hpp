// SPDX-License-Identifier: GPL-3.0-or-later
// Reads the use of a step as users write it.
#pragma once

#include <optional>
#include <string_view>

#include "evenwall/model.hpp"

namespace evenwall::internal::tables {

/// The use that a text names with a word of the table of words. Capitals count as small letters. Blanks around the word are allowed, and a
/// blank or a hyphen may stand for the underscore: "As found" is as_found. Nothing for any other text.
std::optional<StepUse> use_named(std::string_view text);

}  // namespace evenwall::internal::tables
