// SPDX-License-Identifier: GPL-3.0-or-later
// What a command must be permitted, or must have had done for it, before it is confined.
#pragma once

#include <cstddef>
#include <optional>

#include "app/options.hpp"
#include "sandbox/writer_process.hpp"

namespace evenwall::internal::app {

struct Permissions {
  sandbox::WritablePaths paths;        ///< what is written
  std::size_t streams = 0;             ///< at most so many inputs need a temporary copy
  bool quiet = false, strict = false;  ///< what an incomplete confinement leads to
};

/// Nothing for commands that decode no capture: `report` runs the plotting engine, `simulate` makes a folder.
///
/// A stream among the inputs, or in a folder that is one, gets its temporary copy; one that only a step log names, elsewhere, does not.
std::optional<Permissions> permissions_of(const CommandLine& command);

}  // namespace evenwall::internal::app
