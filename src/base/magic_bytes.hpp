// SPDX-License-Identifier: GPL-3.0-or-later
// Determines the kind of a file from its first bytes.
#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace evenwall::internal::base {

/// The kind of audio file that begins with these bytes, including kinds that the program does not read; nothing for any other file.
std::optional<std::string> audio_kind(std::string_view head);

/// Name of the content of a file that is not read as audio, for a message: "MIDI", "text", "unknown (it begins with …)".
std::string content_name(const std::string& head);

}  // namespace evenwall::internal::base
