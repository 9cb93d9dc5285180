// SPDX-License-Identifier: GPL-3.0-or-later
// Runs gnuplot, the plotting engine, as a separate program.
#pragma once

#include <optional>
#include <string>

#include "report/plot_script.hpp"

namespace evenwall::internal::report {

/// Lets gnuplot draw the script as an SVG document. Returns nothing if gnuplot is not installed, fails, draws without end or takes longer
/// than 20 s. After such a long run gnuplot is not started again in this process. It runs without a shell and without a start-up file, and
/// its environment holds only the search path and a fixed locale.
std::optional<std::string> drawn_by_gnuplot(const PlotScript& script);

/// Ends a running gnuplot and the processes that it has started; no gnuplot is started afterwards. If another thread is just starting
/// gnuplot, the function waits until it can end it. A signal handler may call this function.
void end_gnuplot_for_good();

}  // namespace evenwall::internal::report
