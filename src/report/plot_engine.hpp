// The plotting engine: gnuplot, a program of its own.
#pragma once

#include <optional>
#include <string>

#include "report/plot_script.hpp"

namespace evenwall {

/// Draws the script as an SVG document by gnuplot. Nothing where it isn't installed, fails or takes too long. No shell, no start-up file
/// and no environment but the search path take part.
std::optional<std::string> drawn_by_gnuplot(const PlotScript& script);

}  // namespace evenwall
