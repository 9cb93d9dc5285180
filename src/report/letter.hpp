// SPDX-License-Identifier: GPL-3.0-or-later
// Writes the letter to the client, on the first sheet of a solution's page. Texts are escaped for a terminal, not for HTML.
#pragma once

#include <string>
#include <vector>

#include "evenwall/model.hpp"

namespace evenwall::internal::report {

/// "To: …", "From: …", cartridge, record and date, as far as they are stated.
std::vector<std::string> letter_head(const Solution& solution);

/// What was examined, what was found, what was set or remains to be set, and whether a recording verified it.
std::vector<std::string> letter_sentences(const Solution& solution);

/// The move that the page draws: the turn from the present state, or, in a document of an older version, the move from the log's zero.
Shim drawn_move(const Solution& solution);

}  // namespace evenwall::internal::report
