// SPDX-License-Identifier: GPL-3.0-or-later
// Suggests the command or the option that a user most likely meant.
#pragma once

#include <string>

namespace CLI {
class App;
}

namespace evenwall::internal::app {

/// For a command line with a word that is no command, or an option that its command does not have: ". The nearest option is --json", to be
/// put after a message. Empty if no name is near.
std::string usage_suggestion(const CLI::App& root, int argc, const char* const* argv);

}  // namespace evenwall::internal::app
