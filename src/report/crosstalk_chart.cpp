// SPDX-License-Identifier: GPL-3.0-or-later
// Draws the crosstalk in both directions against tilt, with the answer.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/number_format.hpp"
#include "report/solution_charts.hpp"
#include "report/solution_words.hpp"

namespace evenwall::internal::report {
namespace {

constexpr int kCrosstalkHeight = 235;
constexpr double kBelow_db = 3.0;     // of the plot below the lowest level, because bands have no lower end at a null
constexpr double kDeepest_db = 50.0;  // below the highest level; a deeper null is cut off

using Levels = std::vector<double>;

Range level_range(const Solution& solution) {
  Levels levels = solution.curves.right_into_left_db;
  levels.insert(levels.end(), solution.curves.left_into_right_db.begin(), solution.curves.left_into_right_db.end());
  for (const SolvedStep& step : solution.steps) {
    if (is_set_aside(step)) continue;
    levels.push_back(step.right_into_left_db);
    levels.push_back(step.left_into_right_db);
  }
  const Range all = range_of(levels, 0, 6);
  return {std::max(std::floor(all.low - kBelow_db), all.high - kDeepest_db), std::ceil(all.high + 1)};
}

bool has_curves_and_bands(const Curves& c) {
  const std::size_t n = c.tilt_deg.size();
  return n > 1 && c.right_into_left_db.size() == n && c.left_into_right_db.size() == n && c.right_into_left_band95_db.size() == n &&
         c.left_into_right_band95_db.size() == n;
}

std::vector<DataRow> curve_rows(const Curves& c, double floor_db) {
  // A band without a lower end is drawn down to the plot's floor.
  const auto low = [floor_db](double level_db) { return std::isfinite(level_db) ? level_db : floor_db; };
  std::vector<DataRow> rows;
  for (std::size_t i = 0; i < c.tilt_deg.size(); ++i) {
    rows.push_back({c.tilt_deg[i], c.right_into_left_db[i], low(c.right_into_left_band95_db[i][0]), c.right_into_left_band95_db[i][1],
                    c.left_into_right_db[i], low(c.left_into_right_band95_db[i][0]), c.left_into_right_band95_db[i][1]});
  }
  return rows;
}

std::vector<DataRow> step_rows(const Solution& solution) {
  std::vector<DataRow> rows;
  for (const SolvedStep& s : solution.steps) {
    rows.push_back({s.tilt_deg, s.right_into_left_db, s.left_into_right_db, kCoverage95 * s.u_audit_deg});
  }
  return rows;
}

std::string curves_description(const Solution& solution) {
  const Recommended& r = solution.recommended;
  const Curves& c = solution.curves;
  std::string words = "The chart shows the crosstalk in dB against azimuth in degrees.";
  if (has_curves_and_bands(c)) {
    words += fmt::format(" From {} to {}, right into left changes from {} to {}, and left into right from {} to {}.",
                         degrees_text(c.tilt_deg.front(), 1), degrees_text(c.tilt_deg.back(), 1),
                         decibels_text(c.right_into_left_db.front()), decibels_text(c.right_into_left_db.back()),
                         decibels_text(c.left_into_right_db.front()), decibels_text(c.left_into_right_db.back()));
  }
  return words + fmt::format(" At the recommended azimuth, {}, they are {} and {}.", degrees_text(r.tilt_deg, 2),
                             decibels_text(r.right_into_left_db), decibels_text(r.left_into_right_db));
}

/// Plots the levels as curves with bands.
void plot_curves(PlotScript& script) {
  script.command("$curves using 1:3:4 with filledcurves fs transparent solid 0.18 noborder lc rgb '#010000' notitle, \\");
  script.command("'' using 1:6:7 with filledcurves fs transparent solid 0.18 noborder lc rgb '#020000' notitle, \\");
  script.command("'' using 1:2 with lines {} title 'right into left', \\", kRightIntoLeftLine);
  script.command("'' using 1:5 with lines {} title 'left into right', \\", kLeftIntoRightLine);
}

void plot_steps(PlotScript& script, bool named) {
  const FixedWords right_into_left = named ? FixedWords("title 'right into left'") : FixedWords("notitle");
  const FixedWords left_into_right = named ? FixedWords("title 'left into right'") : FixedWords("notitle");
  script.command("$steps using 1:2:4 with xerrorbars {} {}, \\", kRightIntoLeftMark, right_into_left);
  script.command("'' using 1:3:4 with xerrorbars {} {}, \\", kLeftIntoRightMark, left_into_right);
}

}  // namespace

std::optional<Chart> crosstalk_chart(const Solution& solution) {
  const bool curves = has_curves_and_bands(solution.curves);
  if (!curves && solution.steps.empty()) return std::nullopt;
  const Criterion& equal = solution.equal_crosstalk;
  const bool met = equal.tilt_deg && equal.crosstalk_db;
  Chart chart{
      "crosstalk",
      "Crosstalk against azimuth",
      curves_description(solution),
      fmt::format("The curves have 95 % bands. Each mark is a step, and its bar is the 95 % interval of the azimuth {}. The dotted line is "
                  "the recommended azimuth with its 95 % interval.",
                  solution.recommended.from_capture ? "from the crosstalk" : "as set"),
      {}};
  if (met) chart.caption += " The diamond marks equal crosstalk in both directions.";
  const Range levels = level_range(solution);
  const Range tilts = curves ? Range{solution.curves.tilt_deg.front(), solution.curves.tilt_deg.back()} : tilt_range(solution);
  begin_chart(chart.script, kCrosstalkHeight);
  chart.script.command("set ylabel 'crosstalk (dB)'");
  set_tilt_axis(chart.script, tilts);
  chart.script.command("set yrange [{:.9g}:{:.9g}]", levels.low, levels.high);
  mark_answer(chart.script, solution.recommended);
  if (curves) chart.script.data("curves", curve_rows(solution.curves, levels.low));
  chart.script.data("steps", step_rows(solution));
  if (met) chart.script.data("equal", {{*equal.tilt_deg, *equal.crosstalk_db}});
  chart.script.command("plot \\");
  if (curves) plot_curves(chart.script);
  if (!solution.steps.empty()) plot_steps(chart.script, !curves);
  if (met) chart.script.command("$equal using 1:2 with points lc rgb '#030000' pt 12 ps 1.1 notitle, \\");
  chart.script.command("{}", kAnswerInKey);
  return chart;
}

}  // namespace evenwall::internal::report
