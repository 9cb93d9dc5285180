// SPDX-License-Identifier: GPL-3.0-or-later
// Makes text safe to show on a terminal.
#pragma once

#include <string>
#include <string_view>

namespace evenwall::internal::base {

/// Returns the text with everything visible that a terminal could act on: control characters below U+0080 as \xNN, those above as well as
/// invisible, bidirectional and line-separator marks as \u{NNNN}, bytes that are not UTF-8 as \xNN. Idempotent on plain text.
std::string escaped(std::string_view text);

}  // namespace evenwall::internal::base
