// SPDX-License-Identifier: GPL-3.0-or-later
// What the charts of a page share: size, axes, the look of each quantity.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "evenwall/model.hpp"
#include "report/plot_script.hpp"

namespace evenwall::internal::report {

/// A chart before it is drawn. `name` is a word of ours and unique on the page; the other words are texts.
struct Chart {
  std::string name;
  std::string title;
  std::string description;  ///< what can be seen in it, told to who can't see it
  std::string caption;      ///< how to read it
  PlotScript script;
};

/// The look of a quantity, the same in every chart: gnuplot's colour, dash and mark. Colour is never alone.
inline constexpr FixedWords kRightIntoLeftLine = "lc rgb '#010000' lw 1.6 dt 1";
inline constexpr FixedWords kLeftIntoRightLine = "lc rgb '#020000' lw 1.6 dt (8,4)";
inline constexpr FixedWords kRightIntoLeftMark = "lc rgb '#010000' pt 7 ps 0.55";
inline constexpr FixedWords kLeftIntoRightMark = "lc rgb '#020000' pt 9 ps 0.75";

/// The last of the `plot` pieces where mark_answer() drew.
inline constexpr FixedWords kAnswerInKey = "NaN with lines lc rgb '#030000' lw 1.2 dt (2,3) title 'the answer'";

inline constexpr double kCoverage95 = 1.96;  // standard uncertainties in a 95 % bar; no degrees of freedom stand with a step's

struct Range {
  double low, high;
};

/// What the finite numbers span, widened on both sides by `margin` of it, and to at least `least` in all. Without any number: −1 to 1.
Range range_of(const std::vector<double>& values, double margin, double least);

/// The distance of ticks, 1, 2 or 5 of some power of ten, at which at most `most` of them cover the range.
double tick_distance(Range range, int most);

/// Opens a script: terminal of 360 units' width, grid, border, key above.
void begin_chart(PlotScript& script, int height);

/// Tilts wide enough for all steps and the answer.
Range tilt_range(const Solution& solution);

/// The horizontal axis of a chart against tilt.
void set_tilt_axis(PlotScript& script, Range tilts_deg);

/// A vertical line at a tilt, its 95 % interval shaded where it has one.
void mark_tilt(PlotScript& script, double tilt_deg, const std::optional<Interval>& interval95_deg);

/// A vertical line at the recommendation with its 95 % interval shaded.
void mark_answer(PlotScript& script, const Recommended& recommended);

}  // namespace evenwall::internal::report
