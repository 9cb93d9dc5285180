// What a command that reads files from elsewhere must be left, or must have done for it.
#pragma once

#include <cstddef>
#include <optional>
#include <string>

#include "app/options.hpp"

namespace evenwall::app {

struct Leave {
  std::optional<std::string> output, appended;  ///< what is written
  std::size_t streams = 0;                      ///< at most so many inputs need a temporary copy
  bool quiet = false, strict = false;           ///< what an incomplete confinement leads to
};

/// Nothing for commands that decode no capture: `report` runs the plotting engine, `simulate` makes a folder.
///
/// A stream among the inputs, or in a folder that is one, gets its temporary copy; one that only a step log names, elsewhere, does not.
std::optional<Leave> leave_of(const CommandLine& told);

}  // namespace evenwall::app
