// SPDX-License-Identifier: GPL-3.0-or-later
// Draws the charts of the steps: tilt response, channel balance and distortion, each against tilt.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/counted.hpp"
#include "report/number_format.hpp"
#include "report/solution_charts.hpp"
#include "report/solution_words.hpp"

namespace evenwall::internal::report {
namespace {

constexpr int kResponseHeight = 245;
constexpr int kBalanceHeight = 190;
constexpr double kLeastAuditSpan_deg = 0.1;
constexpr double kLeastBalanceSpan_db = 0.2;
constexpr double kLeastDistortionSpan = 0.5;  // percent; distortion below this comes from the record and the meter
constexpr double kStepMargin = 0.15;
constexpr int kStepMostTicks = 4;     // on an axis of half the chart's height
constexpr double kStepAside = 0.014;  // of the tilt axis; moves the two channels' marks apart, so that equal values do not overlap

/// The role of a step in the fit.
enum class Standing { kAsLogged, kNotAsLogged, kLeftOut };

Standing standing_of(const SolvedStep& s) {
  if (!s.used) return Standing::kLeftOut;
  return has_flag(s, StepFlag::kStepOff) ? Standing::kNotAsLogged : Standing::kAsLogged;
}

std::vector<DataRow> response_rows(const Solution& solution, Standing standing) {
  std::vector<DataRow> rows;
  for (const SolvedStep& s : solution.steps) {
    if (standing_of(s) == standing && !is_set_aside(s) && s.audit_deg && std::isfinite(s.tilt_from_signal_deg))
      rows.push_back({s.tilt_deg, s.tilt_from_signal_deg, kCoverage95 * s.u_audit_deg, *s.audit_deg});
  }
  return rows;
}

std::string response_description(const Solution& solution) {
  const auto audit = [](const SolvedStep& s) { return is_set_aside(s) ? 0.0 : std::abs(s.audit_deg.value_or(0)); };
  const auto by_audit = [&](const SolvedStep& a, const SolvedStep& b) { return audit(a) < audit(b); };
  const SolvedStep& worst = *std::max_element(solution.steps.begin(), solution.steps.end(), by_audit);
  const auto left_out = std::count_if(solution.steps.begin(), solution.steps.end(), [](const SolvedStep& s) { return !s.used; });
  return fmt::format(
      "The upper panel shows the azimuth of each step from the signal against its logged azimuth. The lower panel shows the correction to "
      "the logged azimuth: signal minus log. The step logged at {} has the largest correction, {}° (u = {}°). The fit "
      "excludes {} of {}.",
      degrees_text(worst.tilt_deg, 2), signed_text(worst.audit_deg.value_or(0), worst.u_audit_deg), uncertainty_text(worst.u_audit_deg),
      left_out, base::counted(solution.steps.size(), "step"));
}

Range audit_range(const Solution& solution) {
  std::vector<double> ends{0};
  for (const SolvedStep& s : solution.steps) {
    if (is_set_aside(s) || !s.audit_deg) continue;
    ends.push_back(*s.audit_deg + kCoverage95 * s.u_audit_deg);
    ends.push_back(*s.audit_deg - kCoverage95 * s.u_audit_deg);
  }
  return range_of(ends, kStepMargin, kLeastAuditSpan_deg);
}

struct Response {
  std::vector<DataRow> as_logged, not_as_logged, left_out;
};

constexpr FixedWords kAsLoggedMark = "lc rgb '#010000' pt 7 ps 0.6 lw 1.2";
constexpr FixedWords kNotAsLoggedMark = "lc rgb '#020000' pt 11 ps 0.9 lw 1.6";
constexpr FixedWords kLeftOutMark = "lc rgb '#040000' pt 2 ps 0.8 lw 1.6";

/// Plots the steps by their second column (tilt by the signal) or their fourth (correction to the logged azimuth).
void plot_steps(PlotScript& script, const Response& response, int column) {
  if (!response.as_logged.empty()) script.command("$as_logged using 1:{}:3 with yerrorbars {} title 'step', \\", column, kAsLoggedMark);
  if (!response.not_as_logged.empty())
    script.command("$not_as_logged using 1:{}:3 with yerrorbars {} title 'not as logged', \\", column, kNotAsLoggedMark);
  if (!response.left_out.empty()) script.command("$left_out using 1:{}:3 with yerrorbars {} title 'excluded', \\", column, kLeftOutMark);
  script.command("NaN lc rgb '#040000' notitle");
}

/// Draws both panels, one above the other, on one tilt axis.
void draw_response(PlotScript& script, const Solution& solution, const Response& response) {
  const Range tilts = tilt_range(solution);
  const Range audit = audit_range(solution);
  script.command("set multiplot");
  script.command("set lmargin at screen 0.19; set rmargin at screen 0.97");
  set_tilt_axis(script, tilts);
  script.command("set tmargin at screen 0.88; set bmargin at screen 0.53");
  script.command("set format x ''; unset xlabel; set ylabel 'from signal (°)'");
  script.command("set yrange [{:.9g}:{:.9g}]; set ytics {:.9g}", tilts.low, tilts.high, tick_distance(tilts, kStepMostTicks));
  script.command("plot x with lines lc rgb '#030000' lw 1.2 dt (8,4) title 'as logged', \\");
  plot_steps(script, response, 2);
  script.command("unset key; set format x '%g'; set xlabel 'logged azimuth (°)' offset 0,0.6; set ylabel 'correction (°)'");
  script.command("set tmargin at screen 0.48; set bmargin at screen 0.2");
  script.command("set yrange [{:.9g}:{:.9g}]; set ytics {:.9g}", audit.low, audit.high, tick_distance(audit, kStepMostTicks));
  script.command("plot 0 with lines lc rgb '#030000' lw 1.2 dt (8,4), \\");
  plot_steps(script, response, 4);
  script.command("unset multiplot");
}

}  // namespace

std::optional<Chart> tilt_response_chart(const Solution& solution) {
  const Response response{response_rows(solution, Standing::kAsLogged), response_rows(solution, Standing::kNotAsLogged),
                          response_rows(solution, Standing::kLeftOut)};
  if (response.as_logged.empty() && response.not_as_logged.empty() && response.left_out.empty()) return std::nullopt;
  Chart chart{
      "response",
      "Azimuth from the signal against the log",
      response_description(solution),
      "Each point is the azimuth of a step from the signal, with its 95 % interval as a bar. The lower panel shows the correction: signal "
      "minus log. If a bar does not reach the dashed line, the step was not set as logged.",
      {}};
  begin_chart(chart.script, kResponseHeight);
  chart.script.data("as_logged", response.as_logged);
  chart.script.data("not_as_logged", response.not_as_logged);
  chart.script.data("left_out", response.left_out);
  draw_response(chart.script, solution, response);
  return chart;
}

std::optional<Chart> balance_chart(const Solution& solution) {
  std::vector<DataRow> rows;
  std::vector<double> levels;
  for (const SolvedStep& s : solution.steps) {
    if (!s.balance_db || is_set_aside(s)) continue;
    rows.push_back({s.tilt_deg, *s.balance_db});
    levels.push_back(*s.balance_db);
  }
  if (rows.empty()) return std::nullopt;
  const auto [low, high] = std::minmax_element(levels.begin(), levels.end());
  std::string words = fmt::format("The channel balance of {} ranges from {} to {}. Positive means that the left channel is louder.",
                                  base::counted(rows.size(), "step"), balance_text(*low), balance_text(*high));
  Chart chart{
      "balance",
      "Channel balance against azimuth",
      words,
      "Positive means that the left channel is louder. A slope means that the balance depends on the azimuth. The dotted line is the "
      "recommended azimuth with its 95 % interval.",
      {}};
  const Range tilts = tilt_range(solution);
  const Range range = range_of(levels, kStepMargin, kLeastBalanceSpan_db);
  begin_chart(chart.script, kBalanceHeight);
  chart.script.command("set ylabel 'left over right (dB)'");
  set_tilt_axis(chart.script, tilts);
  chart.script.command("set yrange [{:.9g}:{:.9g}]", range.low, range.high);
  mark_answer(chart.script, solution.recommended);
  chart.script.data("balance", rows);
  chart.script.command("plot $balance using 1:2 with linespoints lc rgb '#010000' pt 5 ps 0.55 lw 1 dt 1 title 'balance', \\");
  chart.script.command("{}", kAnswerInKey);
  return chart;
}

std::optional<Chart> distortion_chart(const Solution& solution) {
  std::vector<DataRow> rows;
  std::vector<double> all{0};
  std::string words = "The chart shows the distortion of each channel's own tone in percent, step by step.";
  for (const SolvedStep& s : solution.steps) {
    if (!s.distortion_left_percent && !s.distortion_right_percent) continue;
    rows.push_back({s.tilt_deg, s.distortion_left_percent.value_or(NAN), s.distortion_right_percent.value_or(NAN)});
    all.insert(all.end(), {rows.back()[1], rows.back()[2]});
    words += fmt::format(" At {}: left {}, right {}.", degrees_text(s.tilt_deg, 2), number_text(s.distortion_left_percent, 2, false),
                         number_text(s.distortion_right_percent, 2, false));
  }
  if (rows.empty()) return std::nullopt;
  Chart chart{"distortion",
              "Distortion against azimuth",
              words,
              "The marks show the second and third harmonic of the driven channel. The left and right marks of a step are drawn slightly "
              "apart. If the distortion rises to one side, the stylus may leave a groove wall. The dotted line "
              "is the recommended azimuth.",
              {}};
  const Range range = range_of(all, kStepMargin, kLeastDistortionSpan);
  const Range tilts = tilt_range(solution);
  const double aside_deg = kStepAside * (tilts.high - tilts.low);
  begin_chart(chart.script, kBalanceHeight);
  chart.script.command("set ylabel 'distortion (%)'");
  set_tilt_axis(chart.script, tilts);
  chart.script.command("set yrange [0:{:.9g}]; set ytics {:.9g}", range.high, tick_distance({0, range.high}, kStepMostTicks));
  mark_answer(chart.script, solution.recommended);
  chart.script.data("distortion", rows);
  chart.script.command("plot $distortion using ($1-{:.9g}):2 with linespoints {} lw 2 dt 1 title 'left channel', \\", aside_deg,
                       kRightIntoLeftMark);
  chart.script.command("'' using ($1+{:.9g}):3 with linespoints {} lw 1 dt (8,4) title 'right channel', \\", aside_deg, kLeftIntoRightMark);
  chart.script.command("{}", kAnswerInKey);
  return chart;
}

}  // namespace evenwall::internal::report
