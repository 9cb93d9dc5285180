// SPDX-License-Identifier: GPL-3.0-or-later
// Whether a text has a part: what tests of messages and pages ask.
#pragma once

#include <string_view>

inline bool holds(std::string_view text, std::string_view part) { return text.find(part) != std::string_view::npos; }
