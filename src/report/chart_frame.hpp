// SPDX-License-Identifier: GPL-3.0-or-later
// Holds the parts that all charts of a page share: size, axes, and the look of each quantity.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/model.hpp"
#include "report/plot_script.hpp"

namespace evenwall::internal::report {

/// A chart before it is drawn. `name` is a fixed word of this program and unique on the page. The other strings are texts, escaped later.
struct Chart {
  std::string name;
  std::string title;
  std::string description;  ///< what the chart shows, for readers who cannot see it
  std::string caption;      ///< how to read it
  PlotScript script;
};

/// The look of a quantity, the same in every chart: gnuplot's colour, dash and mark. Colour is never the only difference.
inline constexpr FixedWords kRightIntoLeftLine = "lc rgb '#010000' lw 1.6 dt 1";
inline constexpr FixedWords kLeftIntoRightLine = "lc rgb '#020000' lw 1.6 dt (8,4)";
inline constexpr FixedWords kRightIntoLeftMark = "lc rgb '#010000' pt 7 ps 0.55";
inline constexpr FixedWords kLeftIntoRightMark = "lc rgb '#020000' pt 9 ps 0.75";

/// The last piece of the `plot` command if mark_answer() drew: it adds the answer to the key.
inline constexpr FixedWords kAnswerInKey = "NaN with lines lc rgb '#030000' lw 1.2 dt (2,3) title 'recommended'";

inline constexpr double kCoverage95 = 1.96;  // standard uncertainties in a 95 % bar; a step's u comes without degrees of freedom

struct Range {
  double low, high;
};

/// The span of the numbers below 1e30 in magnitude, widened on both sides by the share `margin` of the span, and to a width of at least
/// `least`. Without any such number: −1 to 1.
Range range_of(const std::vector<double>& values, double margin, double least);

/// The smallest tick distance (1, 2 or 5 times a power of ten) that divides the range into at most `most` intervals.
double tick_distance(Range range, int most);

/// Begins a script: a terminal 360 units wide, a grid, a border, and the key above the plot.
void begin_chart(PlotScript& script, int height);

/// A range of tilts that is wide enough for all steps and the answer.
Range tilt_range(const Solution& solution);

/// The horizontal axis of a chart against tilt.
void set_tilt_axis(PlotScript& script, Range tilts_deg);

/// Draws a vertical line at a tilt and shades its 95 % interval if it has one.
void mark_tilt(PlotScript& script, double tilt_deg, const std::optional<Interval>& interval95_deg);

/// Draws a vertical line at the recommended tilt and shades its 95 % interval.
void mark_answer(PlotScript& script, const Recommended& recommended);

}  // namespace evenwall::internal::report
