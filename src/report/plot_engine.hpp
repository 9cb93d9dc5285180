// SPDX-License-Identifier: GPL-3.0-or-later
// The plotting engine: gnuplot, a program of its own.
#pragma once

#include <optional>
#include <string>

#include "report/plot_script.hpp"

namespace evenwall::internal::report {

/// Draws the script as an SVG document by gnuplot. Nothing if it isn't installed, fails, draws without end or takes longer than 20 s; after
/// such a long run it is not started again in this process. No shell, no start-up file and no environment but the search path take part.
std::optional<std::string> drawn_by_gnuplot(const PlotScript& script);

/// Ends a gnuplot that is running, and the processes that it has started. Also for a signal handler.
void end_gnuplot();

}  // namespace evenwall::internal::report
