// What the steps tell of the log and of the channels: the tilt response, and the balance.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "report/number_format.hpp"
#include "report/solution_charts.hpp"
#include "report/solution_words.hpp"

namespace evenwall {
namespace {

constexpr int kResponseHeight = 330;
constexpr int kBalanceHeight = 250;
constexpr double kLeastAuditSpan_deg = 0.1;
constexpr double kLeastBalanceSpan_db = 0.2;
constexpr double kMargin = 0.15;

std::vector<DataRow> response_rows(const Solution& solution, bool used) {
  std::vector<DataRow> rows;
  for (const SolvedStep& s : solution.steps) {
    if (s.used == used && std::isfinite(s.tilt_from_signal_deg))
      rows.push_back({s.tilt_deg, s.tilt_from_signal_deg, kCoverage95 * s.u_audit_deg, s.audit_deg});
  }
  return rows;
}

std::string response_description(const Solution& solution) {
  const auto by_audit = [](const SolvedStep& a, const SolvedStep& b) { return std::abs(a.audit_deg) < std::abs(b.audit_deg); };
  const SolvedStep& worst = *std::max_element(solution.steps.begin(), solution.steps.end(), by_audit);
  const auto left_out = std::count_if(solution.steps.begin(), solution.steps.end(), [](const SolvedStep& s) { return !s.used; });
  return fmt::format(
      "Tilt by the signal against tilt logged, and their difference below. The step farthest off is the one logged at {}: {}° by the "
      "signal. "
      "{} of {} steps are left out of the fit.",
      degrees_text(worst.tilt_deg, 2), signed_with_uncertainty(worst.audit_deg, worst.u_audit_deg), left_out, solution.steps.size());
}

Range audit_range(const Solution& solution) {
  std::vector<double> ends{0};
  for (const SolvedStep& s : solution.steps) {
    ends.push_back(s.audit_deg + kCoverage95 * s.u_audit_deg);
    ends.push_back(s.audit_deg - kCoverage95 * s.u_audit_deg);
  }
  return range_of(ends, kMargin, kLeastAuditSpan_deg);
}

/// Both panels side by side in height, on one tilt axis.
void draw_response(PlotScript& script, const Solution& solution, bool some_used, bool some_left_out) {
  const Range tilts = tilt_range(solution);
  const Range audit = audit_range(solution);
  const FixedWords used = "lc rgb '#010000' pt 7 ps 0.6 lw 1.2";
  const FixedWords left_out = "lc rgb '#020000' pt 2 ps 0.8 lw 1.6";
  script.command("set multiplot");
  script.command("set lmargin at screen 0.17; set rmargin at screen 0.97");
  script.command("set xrange [{:.9g}:{:.9g}]", tilts.low, tilts.high);
  script.command("set tmargin at screen 0.90; set bmargin at screen 0.48");
  script.command("set format x ''; set ylabel 'by the signal (°)' offset 1.5,0");
  script.command("plot x with lines lc rgb '#030000' lw 1.2 dt (8,4) title 'as logged', \\");
  if (some_used) script.command("$used using 1:2:3 with yerrorbars {} title 'step', \\", used);
  if (some_left_out) script.command("$left_out using 1:2:3 with yerrorbars {} title 'left out', \\", left_out);
  script.command("NaN notitle");
  script.command("unset key; set format x '%g'; set xlabel 'tilt logged (°)'; set ylabel 'audit (°)' offset 1.5,0");
  script.command("set tmargin at screen 0.44; set bmargin at screen 0.14");
  script.command("set yrange [{:.9g}:{:.9g}]; set ytics autofreq", audit.low, audit.high);
  script.command("plot 0 with lines lc rgb '#030000' lw 1.2 dt (8,4), \\");
  if (some_used) script.command("$used using 1:4:3 with yerrorbars {}, \\", used);
  if (some_left_out) script.command("$left_out using 1:4:3 with yerrorbars {}, \\", left_out);
  script.command("NaN");
  script.command("unset multiplot");
}

}  // namespace

std::optional<Chart> tilt_response_chart(const Solution& solution) {
  const std::vector<DataRow> used = response_rows(solution, true);
  const std::vector<DataRow> left_out = response_rows(solution, false);
  if (used.empty() && left_out.empty()) return std::nullopt;
  Chart chart{
      "response",
      "Tilt response",
      response_description(solution),
      "What the signal says of each step's tilt, with 95 % bars. The lower panel magnifies it: a step whose bar is clear of the dashed "
      "line was not set as logged.",
      {}};
  begin_chart(chart.script, kResponseHeight);
  chart.script.data("used", used);
  chart.script.data("left_out", left_out);
  draw_response(chart.script, solution, !used.empty(), !left_out.empty());
  return chart;
}

std::optional<Chart> balance_chart(const Solution& solution) {
  std::vector<DataRow> rows;
  std::vector<double> levels;
  for (const SolvedStep& s : solution.steps) {
    if (!s.balance_db) continue;
    rows.push_back({s.tilt_deg, *s.balance_db});
    levels.push_back(*s.balance_db);
  }
  if (rows.empty()) return std::nullopt;
  const auto [low, high] = std::minmax_element(levels.begin(), levels.end());
  std::string words = fmt::format("Channel balance of {} steps, from {} to {}; positive: left louder.", rows.size(), balance_text(*low),
                                  balance_text(*high));
  Chart chart{
      "balance", "Channel balance against tilt", words, "Positive: left louder. A slope means that the balance hangs on the tilt.", {}};
  const Range tilts = tilt_range(solution);
  const Range range = range_of(levels, kMargin, kLeastBalanceSpan_db);
  begin_chart(chart.script, kBalanceHeight);
  chart.script.command("set xlabel 'tilt (°)'");
  chart.script.command("set ylabel 'left over right (dB)'");
  chart.script.command("set xrange [{:.9g}:{:.9g}]", tilts.low, tilts.high);
  chart.script.command("set yrange [{:.9g}:{:.9g}]", range.low, range.high);
  mark_answer(chart.script, solution.recommended);
  chart.script.data("balance", rows);
  chart.script.command("plot $balance using 1:2 with linespoints lc rgb '#010000' pt 5 ps 0.55 lw 1 dt 1 title 'balance', \\");
  chart.script.command("{}", kAnswerInKey);
  return chart;
}

}  // namespace evenwall
