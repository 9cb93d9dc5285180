// SPDX-License-Identifier: GPL-3.0-or-later
// Determines which permissions and temporary files a command needs before the process is confined.
#pragma once

#include <cstddef>
#include <optional>

#include "app/options.hpp"
#include "sandbox/writer_process.hpp"

namespace evenwall::internal::app {

struct Permissions {
  sandbox::WritablePaths paths;        ///< the files that the command writes
  std::size_t streams = 0;             ///< largest number of inputs that need a temporary copy
  std::optional<std::string> watched;  ///< the folder whose notices the command needs
  bool quiet = false, strict = false;  ///< how the program reacts to an incomplete confinement
};

/// std::nullopt for commands that decode no capture: `report` runs the plotting engine, `simulate` and `new` make a folder.
///
/// A stream counts if it is an input, or lies in an input folder or in the folder of an input step log. A stream elsewhere that only a step
/// log names does not count.
std::optional<Permissions> permissions_of(const CommandLine& command);

/// Whether `watch` asks for the tilt of a recording that has no row in the log: standard input and standard output are terminals, and
/// standard output gets text.
bool asks_for_tilts(const WatchCommand& command);

}  // namespace evenwall::internal::app
