// SPDX-License-Identifier: GPL-3.0-or-later
// Declares the command solve with its options.
#pragma once

#include <CLI/CLI.hpp>

#include "app/options.hpp"

namespace evenwall::internal::app {

/// The parsed command is written to `told`, which must outlive the parsing. --json is in told.common; the view follows from
/// solution_view().
void declare_solve(CLI::App& root, SolveCommand& told);

/// The view that the flags choose: JSON for --json.
SolutionView solution_view(const SolveCommand& told);

}  // namespace evenwall::internal::app
