// SPDX-License-Identifier: GPL-3.0-or-later
// Checks the SHA-256 that a document holds.
#pragma once

#include <cstddef>
#include <string>

#include "documents/json_text.hpp"

namespace evenwall::internal::documents {

/// Throws: Error(kInput) unless the text is one SHA-256 of 64 lower-case hexadecimal digits, or up to `most` of them with " + " in between.
void require_sha256(const std::string& text, std::size_t most, const Place& place);

}  // namespace evenwall::internal::documents
