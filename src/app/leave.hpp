// What a command may still do while it reads files from elsewhere.
#pragma once

#include <optional>

#include "app/options.hpp"
#include "files/confinement.hpp"

namespace evenwall::app {

/// Nothing for commands that decode no capture: `report` runs the plotting engine, `simulate` makes a folder.
///
/// A stream among the inputs, or in a folder that is one, needs the temporary folder; one that only a step log names, elsewhere, does not
/// get it.
std::optional<Leave> leave_of(const CommandLine& told);

}  // namespace evenwall::app
