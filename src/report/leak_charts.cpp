// SPDX-License-Identifier: GPL-3.0-or-later
// Draws the crosstalk of every step in both directions: in the complex plane, and its phase against tilt.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "evenwall/units.hpp"
#include "report/number_format.hpp"
#include "report/solution_charts.hpp"
#include "report/solution_words.hpp"

namespace evenwall::internal::report {
namespace {

constexpr int kPlaneHeight = 235;
constexpr int kPhaseHeight = 245;
constexpr double kPlaneAspect = 1.75;  // width over height of the plot itself, without key and labels
constexpr double kLeakMargin = 0.12;
constexpr double kLeastSpan_percent = 0.2;
constexpr double kMost_db = 200;  // a level outside ±kMost_db is not crosstalk and is not drawn

/// Real and imaginary part, in percent of the driven channel.
DataRow in_percent(double level_db, double phase_deg) {
  const double size = 100 * std::pow(10.0, level_db / 20);
  return {size * std::cos(radians(phase_deg)), size * std::sin(radians(phase_deg))};
}

bool has_phase_to_draw(const SolvedStep& s) {
  return !is_set_aside(s) && s.right_into_left_phase_deg && s.left_into_right_phase_deg && std::abs(s.right_into_left_db) < kMost_db &&
         std::abs(s.left_into_right_db) < kMost_db;
}

/// The steps with a crosstalk phase in both directions, sorted by tilt.
std::vector<SolvedStep> phased_steps(const Solution& solution) {
  std::vector<SolvedStep> steps;
  std::copy_if(solution.steps.begin(), solution.steps.end(), std::back_inserter(steps), has_phase_to_draw);
  std::stable_sort(steps.begin(), steps.end(), [](const SolvedStep& a, const SolvedStep& b) { return a.tilt_deg < b.tilt_deg; });
  return steps;
}

/// Sets both axes to the same scale, so that a phase is drawn as its true angle.
void set_equal_scale(PlotScript& script, const std::vector<DataRow>& rows) {
  std::vector<double> across{0};
  std::vector<double> up{0};
  for (const DataRow& row : rows) {
    across.insert(across.end(), {row[0], row[2]});
    up.insert(up.end(), {row[1], row[3]});
  }
  Range x = range_of(across, kLeakMargin, kLeastSpan_percent);
  Range y = range_of(up, kLeakMargin, kLeastSpan_percent);
  const double width = std::max(x.high - x.low, (y.high - y.low) * kPlaneAspect);
  const double x_middle = (x.low + x.high) / 2;
  const double y_middle = (y.low + y.high) / 2;
  script.command("set size ratio -1");
  script.command("set xrange [{:.9g}:{:.9g}]", x_middle - width / 2, x_middle + width / 2);
  script.command("set yrange [{:.9g}:{:.9g}]", y_middle - width / kPlaneAspect / 2, y_middle + width / kPlaneAspect / 2);
}

std::string plane_description(const std::vector<SolvedStep>& steps) {
  const auto leak = [](double level_db, double phase_deg) {
    return fmt::format("{:.2f} % with phase {}", 100 * std::pow(10.0, level_db / 20), degrees_text(phase_deg, 0));
  };
  const SolvedStep& low = steps.front();
  const SolvedStep& high = steps.back();
  return fmt::format(
      "Each point shows the crosstalk of one step in the complex plane, in percent of the driven channel. Right into left changes from {} "
      "at azimuth {} to {} at azimuth {}. Left into right changes from {} to {}.",
      leak(low.right_into_left_db, *low.right_into_left_phase_deg), degrees_text(low.tilt_deg, 2),
      leak(high.right_into_left_db, *high.right_into_left_phase_deg), degrees_text(high.tilt_deg, 2),
      leak(low.left_into_right_db, *low.left_into_right_phase_deg), leak(high.left_into_right_db, *high.left_into_right_phase_deg));
}

/// The phase within −180° to 180°.
double wrapped_deg(double phase) { return std::remainder(phase, 360.0); }

}  // namespace

std::optional<Chart> leak_plane_chart(const Solution& solution) {
  const std::vector<SolvedStep> steps = phased_steps(solution);
  if (steps.empty()) return std::nullopt;
  std::vector<DataRow> rows;
  for (const SolvedStep& s : steps) {
    DataRow row = in_percent(s.right_into_left_db, *s.right_into_left_phase_deg);
    const DataRow other = in_percent(s.left_into_right_db, *s.left_into_right_phase_deg);
    row.insert(row.end(), other.begin(), other.end());
    rows.push_back(std::move(row));
  }
  Chart chart{"plane",
              "Crosstalk in the complex plane",
              plane_description(steps),
              "Each point is one step, and a change of azimuth moves it along its line. A ring marks the step with the lowest azimuth. The "
              "shortest "
              "distance from a line to the centre is the lowest crosstalk that this direction can reach.",
              {}};
  begin_chart(chart.script, kPlaneHeight);
  chart.script.command("set xlabel 'in phase (% of the driven channel)'");
  chart.script.command("set ylabel 'at 90° (%)'");
  chart.script.command("set zeroaxis lc rgb '#040000' lw 0.8 dt 1");
  set_equal_scale(chart.script, rows);
  chart.script.data("leaks", rows);
  chart.script.command("plot $leaks using 1:2 with linespoints {} lw 1.2 dt 1 title 'right into left', \\", kRightIntoLeftMark);
  chart.script.command("'' using 3:4 with linespoints {} lw 1.2 dt (8,4) title 'left into right', \\", kLeftIntoRightMark);
  chart.script.command("'' every ::0::0 using 1:2 with points lc rgb '#010000' pt 6 ps 1.1 notitle, \\");
  chart.script.command("'' every ::0::0 using 3:4 with points lc rgb '#020000' pt 6 ps 1.1 notitle");
  return chart;
}

std::optional<Chart> leak_phase_chart(const Solution& solution) {
  const std::vector<SolvedStep> steps = phased_steps(solution);
  if (steps.empty()) return std::nullopt;
  std::vector<DataRow> rows;
  for (const SolvedStep& s : steps)
    rows.push_back({s.tilt_deg, wrapped_deg(*s.right_into_left_phase_deg), wrapped_deg(*s.left_into_right_phase_deg)});
  const Criterion& match = solution.phase_match;
  std::string words =
      fmt::format("The chart shows the phase of the crosstalk in both directions, in degrees, at {} azimuths from {} to {}.", steps.size(),
                  degrees_text(steps.front().tilt_deg, 2), degrees_text(steps.back().tilt_deg, 2));
  words += match.tilt_deg ? fmt::format(" The phases match at {}.", degrees_text(*match.tilt_deg, 2))
                          : " The azimuth at which the phases match is not determined.";
  Chart chart{
      "phase",
      "Phase of the crosstalk against azimuth",
      words,
      "If azimuth can null the crosstalk, its phase changes by 180° at the null. +180° and -180° are the same phase. The dotted line "
      "is the recommended azimuth.",
      {}};
  begin_chart(chart.script, kPhaseHeight);
  const Range tilts = tilt_range(solution);
  chart.script.command("set ylabel 'phase (°)'");
  set_tilt_axis(chart.script, tilts);
  chart.script.command("set yrange [-195:195]");
  chart.script.command("set ytics -180,90,180");
  mark_answer(chart.script, solution.recommended);
  chart.script.data("phases", rows);
  chart.script.command("plot $phases using 1:2 with points {} title 'right into left', \\", kRightIntoLeftMark);
  chart.script.command("'' using 1:3 with points {} title 'left into right', \\", kLeftIntoRightMark);
  chart.script.command("{}", kAnswerInKey);
  return chart;
}

}  // namespace evenwall::internal::report
