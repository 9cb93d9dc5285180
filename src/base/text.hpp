// SPDX-License-Identifier: GPL-3.0-or-later
// Text shown to people.
#pragma once

#include <string>
#include <string_view>

namespace evenwall::internal::base {

/// The text with whatever a terminal could act on made visible: control characters as \xNN, bidirectional and line-separator marks
/// as \u{NNNN}, bytes that are not UTF-8 as \xNN. Idempotent on plain text.
std::string escaped(std::string_view text);

}  // namespace evenwall::internal::base
