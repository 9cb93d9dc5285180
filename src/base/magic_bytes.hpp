// SPDX-License-Identifier: GPL-3.0-or-later
// Which kind of file begins with given bytes.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace evenwall::internal::base {

/// The kind of audio that begins with these bytes, also of kinds that are not read; nothing for anything else.
std::optional<std::string> audio_kind(std::string_view head);

/// What a file that is not read as audio begins with, for a message: "MIDI", "text", "unknown (it begins with …)".
std::string content_name(const std::string& head);

}  // namespace evenwall::internal::base
