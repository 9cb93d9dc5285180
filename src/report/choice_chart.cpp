// SPDX-License-Identifier: GPL-3.0-or-later
// Draws what each choice of the azimuth costs: the total crosstalk above its least, and the difference between the two directions.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>
#include <utility>

#include "report/number_format.hpp"
#include "report/solution_charts.hpp"
#include "report/trade_off_table.hpp"

namespace evenwall::internal::report {
namespace {

constexpr int kChoiceHeight = 250;
constexpr double kChoiceMargin = 0.25;
constexpr double kChoiceLeastSpan_deg = 0.4;
constexpr double kChoiceLeast_db = 1;
constexpr double kChoiceMost_db = 20;  // a choice that costs more is cut off
constexpr double kAboveMarks = 1.2;    // factor of the highest mark that the curves' part of the plot reaches
constexpr double kNameRow = 0.075;     // of the plot's height
constexpr double kNamesMost = 0.55;
constexpr FixedWords kTotalLine = "lc rgb '#030000' lw 1.6 dt 1";
constexpr FixedWords kDifferenceLine = "lc rgb '#040000' lw 1.6 dt (8,4)";

/// The choices that the chart names, by azimuth. The recommended one has a line of its own, and the state as found is not a choice.
std::vector<TradeOffRow> choices_of(const Solution& solution) {
  std::vector<TradeOffRow> rows;
  std::copy_if(solution.trade_off.begin(), solution.trade_off.end(), std::back_inserter(rows), [](const TradeOffRow& row) {
    return row.name != Candidate::kRecommended && row.name != Candidate::kAsFound && std::isfinite(row.tilt_deg) &&
           std::isfinite(row.total_db) && std::isfinite(row.difference_db);
  });
  std::stable_sort(rows.begin(), rows.end(), [](const TradeOffRow& a, const TradeOffRow& b) { return a.tilt_deg < b.tilt_deg; });
  return rows;
}

double total_db(double right_into_left_db, double left_into_right_db) {
  return 10 * std::log10(0.5 * (std::pow(10.0, right_into_left_db / 10) + std::pow(10.0, left_into_right_db / 10)));
}

/// Azimuth, total above its least, and difference of the directions, both in dB. The marks are points of these lines, so that the lines
/// touch zero where a choice does.
std::vector<DataRow> cost_rows(const Curves& c, double least_db, std::vector<DataRow> marks) {
  std::vector<DataRow> rows = std::move(marks);
  for (std::size_t i = 0; i < c.tilt_deg.size(); ++i) {
    const double rl = c.right_into_left_db[i], lr = c.left_into_right_db[i];
    rows.push_back({c.tilt_deg[i], total_db(rl, lr) - least_db, std::abs(rl - lr)});
  }
  std::stable_sort(rows.begin(), rows.end(), [](const DataRow& a, const DataRow& b) { return a[0] < b[0]; });
  return rows;
}

std::string description_of(const std::vector<TradeOffRow>& rows, double least_db) {
  std::string words =
      "The chart shows two costs in dB against azimuth in degrees: the total crosstalk above its least, and the difference between the "
      "two directions.";
  for (const TradeOffRow& row : rows) {
    words += fmt::format(" {}, at {}: total {:.2f} dB above its least, difference {:.2f} dB.", candidate_words(row.name).text,
                         degrees_text(row.tilt_deg, 3), row.total_db - least_db, std::abs(row.difference_db));
  }
  return words;
}

/// Names each choice at its azimuth, each in a row of its own. A name extends towards the middle. From the edges to the middle the rows go
/// down, so that the line of one choice does not cross the name of another.
void name_choices(PlotScript& script, const std::vector<TradeOffRow>& rows, Range tilts, double row_height) {
  const double middle = 0.5 * (tilts.low + tilts.high);
  const auto in_left_half = [middle](const TradeOffRow& row) { return row.tilt_deg < middle; };
  const auto on_left = static_cast<std::size_t>(std::count_if(rows.begin(), rows.end(), in_left_half));
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const bool left = i < on_left;
    const std::size_t row = left ? i : on_left + (rows.size() - 1 - i);
    const double height = 1 - row_height * (static_cast<double>(row) + 0.6);
    script.command("set arrow from {0:.9g}, graph 0 to {0:.9g}, graph {1:.3f} nohead lc rgb '#040000' lw 0.8", rows[i].tilt_deg, height);
    script.command("set label '{}' at {:.9g}, graph {:.3f} {} offset {},0 font 'sans-serif,10'", candidate_words(rows[i].name),
                   rows[i].tilt_deg, height, left ? FixedWords("left") : FixedWords("right"), left ? 0.4 : -0.4);
  }
}

}  // namespace

std::optional<Chart> choice_chart(const Solution& solution) {
  const Curves& c = solution.curves;
  const std::vector<TradeOffRow> rows = choices_of(solution);
  const auto least = std::find_if(rows.begin(), rows.end(), [](const TradeOffRow& row) { return row.name == Candidate::kLeast; });
  const bool curves =
      c.tilt_deg.size() > 1 && c.right_into_left_db.size() == c.tilt_deg.size() && c.left_into_right_db.size() == c.tilt_deg.size();
  if (!curves || rows.size() < 2 || least == rows.end()) return std::nullopt;
  Chart chart{
      "choices",
      "What each choice costs",
      description_of(rows, least->total_db),
      "Lower is better. The solid line shows by how much the total crosstalk exceeds its least, and the dashed line by how much "
      "the two directions differ. Each name stands at the azimuth of a choice; the marks on the lines are its two costs. The dotted "
      "line is the recommended azimuth with its 95 % interval.",
      {}};
  std::vector<double> tilts{solution.recommended.tilt_deg};
  double highest_db = kChoiceLeast_db;
  std::vector<DataRow> marks;
  for (const TradeOffRow& row : rows) {
    tilts.push_back(row.tilt_deg);
    marks.push_back({row.tilt_deg, row.total_db - least->total_db, std::abs(row.difference_db)});
    highest_db = std::max({highest_db, marks.back()[1], marks.back()[2]});
  }
  const Range shown = range_of(tilts, kChoiceMargin, kChoiceLeastSpan_deg);
  const double row_height = std::min(kNameRow, kNamesMost / static_cast<double>(rows.size()));
  begin_chart(chart.script, kChoiceHeight);
  chart.script.command("set ylabel 'cost (dB)'");
  set_tilt_axis(chart.script, shown);
  chart.script.command("set yrange [0:{:.9g}]",
                       kAboveMarks * std::min(highest_db, kChoiceMost_db) / (1 - row_height * static_cast<double>(rows.size())));
  mark_answer(chart.script, solution.recommended);
  name_choices(chart.script, rows, shown, row_height);
  chart.script.data("costs", cost_rows(c, least->total_db, marks));
  chart.script.data("marks", marks);
  chart.script.command("plot $costs using 1:2 with lines {} title 'total above its least', \\", kTotalLine);
  chart.script.command("'' using 1:3 with lines {} title 'difference', \\", kDifferenceLine);
  chart.script.command("$marks using 1:2 with points lc rgb '#030000' pt 7 ps 0.55 notitle, \\");
  chart.script.command("'' using 1:3 with points lc rgb '#040000' pt 9 ps 0.75 notitle, \\");
  chart.script.command("{}", kAnswerInKey);
  return chart;
}

}  // namespace evenwall::internal::report
