// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the files of a session that has no recordings yet.
#pragma once

#include <string>

namespace evenwall::internal::app {

/// A step log without rows. Comments explain every column.
std::string new_step_log();

/// A session.json with the keys that most sessions have. Its values change no result: they are empty, or they are the defaults.
std::string new_session_file();

}  // namespace evenwall::internal::app
