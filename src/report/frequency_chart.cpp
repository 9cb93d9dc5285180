// SPDX-License-Identifier: GPL-3.0-or-later
// Draws the crosstalk at the answer and the best tilt, both at each tone.
#include <fmt/format.h>

#include <cmath>

#include "report/number_format.hpp"
#include "report/solution_charts.hpp"

namespace evenwall::internal::report {
namespace {

constexpr int kFrequencyHeight = 190;
constexpr double kFrequencyMargin = 0.12;
constexpr double kFrequencyLeastSpan_deg = 0.1;
constexpr double kFrequencyLeastSpan_db = 2;
constexpr int kFrequencyMostTicks = 6;
constexpr double kWiden = 1.15;            // factor by which the axis extends beyond the lowest and the highest tone
constexpr double kFrequencyAside = 1.012;  // factor that moves the two marks of one tone apart

double finite_or(const OptionalNumber& value) { return value.value_or(NAN); }

std::string frequencies_description(const Solution& solution) {
  std::string words = "The chart shows the best azimuth in degrees at each tone.";
  for (const FrequencyResult& f : solution.by_frequency) {
    words += fmt::format(" {:.0f} Hz: least crosstalk {}", f.frequency_hz, degrees_text(f.least_crosstalk_deg, 2));
    words += f.equal_crosstalk_deg ? fmt::format(", equal crosstalk {}.", degrees_text(*f.equal_crosstalk_deg, 2)) : ".";
  }
  return words;
}

std::string crosstalk_description(const Solution& solution) {
  std::string words = fmt::format("The chart shows the crosstalk in dB at each tone with the cartridge at {}.",
                                  degrees_text(solution.recommended.tilt_deg, 2));
  for (const FrequencyResult& f : solution.by_frequency) {
    words += fmt::format(" {:.0f} Hz: right into left {}, left into right {}.", f.frequency_hz, decibels_text(f.right_into_left_db),
                         decibels_text(f.left_into_right_db));
  }
  return words;
}

void set_frequency_axis(PlotScript& script, const Solution& solution) {
  std::vector<double> tones;
  for (const FrequencyResult& f : solution.by_frequency) tones.push_back(f.frequency_hz);
  const Range frequencies = range_of(tones, 0, 0);
  script.command("set logscale x");
  script.command("set xtics (20, 50, 100, 200, 500, '1k' 1000, '2k' 2000, '5k' 5000, '10k' 10000, '20k' 20000)");
  script.command("set xlabel 'frequency (Hz)'");
  script.command("set xrange [{:.9g}:{:.9g}]", frequencies.low / kWiden, frequencies.high * kWiden);
}

/// Standard uncertainties in half of the 95 % interval of the recommended azimuth. The frequencies have no degrees of freedom of their own;
/// those of a session come from its log, which is the same for all.
double coverage_factor(const Recommended& r) {
  const double half_deg = 0.5 * (r.interval95_deg[1] - r.interval95_deg[0]);
  return r.u_deg > 0 && std::isfinite(half_deg) && half_deg > 0 ? half_deg / r.u_deg : kCoverage95;
}

}  // namespace

std::optional<Chart> frequency_crosstalk_chart(const Solution& solution) {
  std::vector<DataRow> rows;
  std::vector<double> levels;
  for (const FrequencyResult& f : solution.by_frequency) {
    if (!f.right_into_left_db || !f.left_into_right_db) continue;
    rows.push_back({f.frequency_hz, *f.right_into_left_db, *f.left_into_right_db});
    levels.insert(levels.end(), {*f.right_into_left_db, *f.left_into_right_db});
  }
  if (rows.size() < 2) return std::nullopt;
  const Range range = range_of(levels, kFrequencyMargin, kFrequencyLeastSpan_db);
  Chart chart{"frequency-crosstalk",
              "Crosstalk against frequency",
              crosstalk_description(solution),
              "The cartridge is at the recommended azimuth. Each frequency is fitted separately.",
              {}};
  begin_chart(chart.script, kFrequencyHeight);
  set_frequency_axis(chart.script, solution);
  chart.script.command("set ylabel 'crosstalk (dB)'");
  chart.script.command("set yrange [{:.9g}:{:.9g}]; set ytics {:.9g}", range.low, range.high, tick_distance(range, kFrequencyMostTicks));
  chart.script.data("tones", rows);
  chart.script.command("plot $tones using 1:2 with linespoints {} lw 1 dt 1 title 'right into left', \\", kRightIntoLeftMark);
  chart.script.command("'' using 1:3 with linespoints {} lw 1 dt (8,4) title 'left into right'", kLeftIntoRightMark);
  return chart;
}

std::optional<Chart> frequency_chart(const Solution& solution) {
  if (solution.by_frequency.size() < 2) return std::nullopt;
  std::vector<DataRow> rows;
  std::vector<double> ends;
  const double coverage = coverage_factor(solution.recommended);
  for (const FrequencyResult& f : solution.by_frequency) {
    const double equal_deg = finite_or(f.equal_crosstalk_deg);
    const double equal_bar_deg = coverage * finite_or(f.u_equal_crosstalk_deg);
    const double least_bar_deg = coverage * f.u_least_crosstalk_deg;
    rows.push_back({f.frequency_hz * kFrequencyAside, equal_deg, equal_bar_deg, f.frequency_hz / kFrequencyAside, f.least_crosstalk_deg,
                    least_bar_deg});
    ends.insert(ends.end(), {equal_deg - equal_bar_deg, equal_deg + equal_bar_deg, f.least_crosstalk_deg - least_bar_deg,
                             f.least_crosstalk_deg + least_bar_deg});
  }
  const Range range = range_of(ends, kFrequencyMargin, kFrequencyLeastSpan_deg);
  Chart chart{"frequency", "Best azimuth against frequency", frequencies_description(solution), "The bars are 95 % intervals.", {}};
  begin_chart(chart.script, kFrequencyHeight);
  set_frequency_axis(chart.script, solution);
  chart.script.command("set ylabel 'best azimuth (°)'");
  chart.script.command("set yrange [{:.9g}:{:.9g}]", range.low, range.high);
  chart.script.data("tones", rows);
  chart.script.command("plot $tones using 1:2:3 with yerrorbars lc rgb '#010000' pt 7 ps 0.5 title 'equal crosstalk', \\");
  chart.script.command("'' using 4:5:6 with yerrorbars lc rgb '#020000' pt 9 ps 0.7 title 'least crosstalk'");
  return chart;
}

}  // namespace evenwall::internal::report
