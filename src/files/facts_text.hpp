// Session facts as text, for files that need no other JSON.
#pragma once

#include <string>

#include "evenwall/model.hpp"

namespace evenwall {

/// session.json: one key a line, ending in a newline.
std::string session_text(const SessionFacts& facts);

}  // namespace evenwall
