// SPDX-License-Identifier: GPL-3.0-or-later
// Draws what each choice of the azimuth costs: the total crosstalk above the lowest possible, and the difference between the two
// directions.
#include <fmt/format.h>

#include <algorithm>
#include <array>
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
constexpr double kLetterRow = 0.075;   // of the plot's height
constexpr std::size_t kLetterRows = 3;
constexpr std::array<FixedWords, 9> kLetters{"A", "B", "C", "D", "E", "F", "G", "H", "I"};  // one for each Candidate
constexpr FixedWords kTotalLine = "lc rgb '#030000' lw 1.6 dt 1";
constexpr FixedWords kDifferenceLine = "lc rgb '#040000' lw 1.6 dt (8,4)";

/// The choices that the chart names, by azimuth. The recommended one is mostly also another one, and the state as found is not a choice.
std::vector<TradeOffRow> choices_of(const Solution& solution) {
  std::vector<TradeOffRow> rows;
  const auto is_drawn = [](const TradeOffRow& row) {
    return row.name != Candidate::kAsFound && std::isfinite(row.tilt_deg) && std::isfinite(row.total_db) &&
           std::isfinite(row.difference_db);
  };
  for (const TradeOffRow& row : solution.trade_off) {
    const bool is_there = std::any_of(rows.begin(), rows.end(), [&](const TradeOffRow& r) { return r.tilt_deg == row.tilt_deg; });
    if (is_drawn(row) && !(row.name == Candidate::kRecommended && is_there)) rows.push_back(row);
  }
  std::stable_sort(rows.begin(), rows.end(), [](const TradeOffRow& a, const TradeOffRow& b) { return a.tilt_deg < b.tilt_deg; });
  rows.resize(std::min(rows.size(), kLetters.size()));  // a document of another program may have more
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

/// The name in the chart. The shaded interval might be taken for a band, so this word does not occur.
FixedWords chart_words(Candidate name) {
  switch (name) {
    case Candidate::kBandLeast:
      return "least over all frequencies";
    case Candidate::kBandEqual:
      return "equal over all frequencies";
    case Candidate::kNearestSetting:
      return "nearest setting of the adjuster";
    default:
      return candidate_words(name);
  }
}

std::string description_of(const std::vector<TradeOffRow>& rows, double least_db) {
  std::string words =
      "The chart shows two costs in dB against azimuth in degrees: the total crosstalk above the lowest possible, and the difference "
      "between the "
      "two directions.";
  for (const TradeOffRow& row : rows) {
    words += fmt::format(" {}, at {}: total {:.2f} dB above the lowest, difference {:.2f} dB.", chart_words(row.name).text,
                         degrees_text(row.tilt_deg, 3), row.total_db - least_db, std::abs(row.difference_db));
  }
  return words;
}

/// Marks each choice with a letter above its azimuth. The next one by azimuth has another height.
void letter_choices(PlotScript& script, const std::vector<TradeOffRow>& rows) {
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const double height = 1 - kLetterRow * (static_cast<double>(i % kLetterRows) + 0.6);
    script.command("set arrow from {0:.9g}, graph 0 to {0:.9g}, graph {1:.3f} nohead lc rgb '#040000' lw 0.8", rows[i].tilt_deg,
                   height - 0.5 * kLetterRow);
    script.command("set label '{}' at {:.9g}, graph {:.3f} center font 'sans-serif,11'", kLetters[i], rows[i].tilt_deg, height);
  }
}

std::string caption_of(const Solution& solution, const std::vector<TradeOffRow>& rows, double least_db) {
  std::string caption = fmt::format(
      "Crosstalk at {:.0f} Hz; lower is better. Total: both directions together, above the lowest possible. Difference: between right into "
      "left and left into right. Each choice has a dot for its total and a triangle for its difference.",
      solution.frequency_hz);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const bool is_recommended = rows[i].tilt_deg == solution.recommended.tilt_deg && rows[i].name != Candidate::kRecommended;
    caption += fmt::format(" {}: {}{}, at {}: total {:.2f} dB, difference {:.2f} dB.", kLetters[i].text, chart_words(rows[i].name).text,
                           is_recommended ? " (recommended)" : "", degrees_text(rows[i].tilt_deg, 3), rows[i].total_db - least_db,
                           std::abs(rows[i].difference_db));
  }
  if (solution.band) caption += " A choice over all frequencies need not be lowest at this one.";
  return caption + " The dotted line is the recommended azimuth, and the shaded area its 95 % interval.";
}

}  // namespace

std::optional<Chart> choice_chart(const Solution& solution) {
  const Curves& c = solution.curves;
  const std::vector<TradeOffRow> rows = choices_of(solution);
  const auto least = std::find_if(rows.begin(), rows.end(), [](const TradeOffRow& row) { return row.name == Candidate::kLeast; });
  const bool curves =
      c.tilt_deg.size() > 1 && c.right_into_left_db.size() == c.tilt_deg.size() && c.left_into_right_db.size() == c.tilt_deg.size();
  if (!curves || rows.size() < 2 || least == rows.end()) return std::nullopt;
  Chart chart{"choices", "What each choice costs", description_of(rows, least->total_db), caption_of(solution, rows, least->total_db), {}};
  std::vector<double> tilts{solution.recommended.tilt_deg};
  double highest_db = kChoiceLeast_db;
  std::vector<DataRow> marks;
  for (const TradeOffRow& row : rows) {
    tilts.push_back(row.tilt_deg);
    marks.push_back({row.tilt_deg, row.total_db - least->total_db, std::abs(row.difference_db)});
    highest_db = std::max({highest_db, marks.back()[1], marks.back()[2]});
  }
  const Range shown = range_of(tilts, kChoiceMargin, kChoiceLeastSpan_deg);
  begin_chart(chart.script, kChoiceHeight);
  chart.script.command("set ylabel 'cost (dB)'");
  set_tilt_axis(chart.script, shown);
  chart.script.command("set yrange [0:{:.9g}]",
                       kAboveMarks * std::min(highest_db, kChoiceMost_db) / (1 - kLetterRow * static_cast<double>(kLetterRows)));
  mark_answer(chart.script, solution.recommended);
  letter_choices(chart.script, rows);
  chart.script.data("costs", cost_rows(c, least->total_db, marks));
  chart.script.data("marks", marks);
  chart.script.command("plot $costs using 1:2 with lines {} title 'total above the lowest', \\", kTotalLine);
  chart.script.command("'' using 1:3 with lines {} title 'difference between the directions', \\", kDifferenceLine);
  chart.script.command("$marks using 1:3 with points lc rgb '#040000' pt 8 ps 0.85 notitle, \\");
  chart.script.command("'' using 1:2 with points lc rgb '#030000' pt 7 ps 0.5 notitle, \\");
  chart.script.command("{}", kAnswerInKey);
  return chart;
}

}  // namespace evenwall::internal::report
