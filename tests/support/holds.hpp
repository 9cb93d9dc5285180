// SPDX-License-Identifier: GPL-3.0-or-later
// Determines whether a text contains a part, for tests of messages and pages.
#pragma once

#include <string_view>

inline bool holds(std::string_view text, std::string_view part) { return text.find(part) != std::string_view::npos; }
