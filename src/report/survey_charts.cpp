// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/survey_charts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/counted.hpp"
#include "report/number_format.hpp"
#include "report/survey_tables.hpp"
#include "report/survey_words.hpp"

namespace evenwall::internal::report {
namespace {

constexpr int kFrameHeight = 80;  // key, labels and margins
constexpr int kRowHeight = 12;
constexpr int kLeastHeight = 150;
constexpr double kSurveyMargin = 0.06;
constexpr double kSurveyLeastSpan_deg = 0.05;
constexpr double kFarthestBar = 1.5;  // times the marks' span; a bar that reaches further is cut at the chart's edge
constexpr int kSurveyMostTicks = 6;

/// One row of a caterpillar plot; rows are ordered from the top.
struct Bar {
  std::string name;
  double middle_deg;
  std::optional<Interval> interval95_deg;
  [[nodiscard]] bool clear_of(double deg) const { return interval95_deg && ((*interval95_deg)[0] > deg || (*interval95_deg)[1] < deg); }
};

using Bars = std::vector<Bar>;

Range bar_range(const Bars& bars, double reference_deg) {
  std::vector<double> marks{reference_deg};
  for (const Bar& bar : bars) marks.push_back(bar.middle_deg);
  const Range middle = range_of(marks, 0, kSurveyLeastSpan_deg);
  const double reach = kFarthestBar * (middle.high - middle.low);
  std::vector<double> ends = marks;
  for (const Bar& bar : bars) {
    if (!bar.interval95_deg) continue;
    ends.push_back(std::max((*bar.interval95_deg)[0], middle.low - reach));
    ends.push_back(std::min((*bar.interval95_deg)[1], middle.high + reach));
  }
  return range_of(ends, kSurveyMargin, kSurveyLeastSpan_deg);
}

bool any_cut(const Bars& bars, Range range) {
  return std::any_of(bars.begin(), bars.end(), [&](const Bar& bar) {
    return bar.interval95_deg && ((*bar.interval95_deg)[0] < range.low || (*bar.interval95_deg)[1] > range.high);
  });
}

std::vector<DataRow> rows_of(const Bars& bars, double reference_deg, bool clear) {
  std::vector<DataRow> rows;
  for (std::size_t i = 0; i < bars.size(); ++i) {
    if (bars[i].clear_of(reference_deg) != clear) continue;
    const Interval ends = bars[i].interval95_deg.value_or(Interval{bars[i].middle_deg, bars[i].middle_deg});
    rows.push_back({bars[i].middle_deg, static_cast<double>(i + 1), ends[0], ends[1]});
  }
  return rows;
}

std::string bar_words(const Bar& bar) {
  if (!bar.interval95_deg) return fmt::format("{} at {}", bar.name, degrees_text(bar.middle_deg, 2));
  return fmt::format("{} at {} ({} to {})", bar.name, degrees_text(bar.middle_deg, 2), degrees_text((*bar.interval95_deg)[0], 2),
                     degrees_text((*bar.interval95_deg)[1], 2));
}

/// Sets the vertical axis: row 1 is at the top, and each row has a label.
void set_rows(PlotScript& script, std::size_t rows) {
  script.command("set yrange [{}.6:0.4] ", rows);
  script.command("set ytics 1 font 'sans-serif,8' scale 0; unset mytics; set grid noytics");
}

void plot_bars(PlotScript& script, const Bars& bars, double reference_deg) {
  const auto clear = rows_of(bars, reference_deg, true);
  const auto near = rows_of(bars, reference_deg, false);
  script.data("clear", clear);
  script.data("near", near);
  script.command("plot NaN lc rgb '#040000' notitle, \\");
  if (!clear.empty())
    script.command("$clear using 1:2:3:4 with xerrorbars lc rgb '#010000' pt 7 ps 0.5 lw 1.3 title 'excludes the line', \\");
  if (!near.empty())
    script.command("$near using 1:2:3:4 with xerrorbars lc rgb '#020000' pt 6 ps 0.6 lw 1.3 title 'includes the line', \\");
}

std::string shown_words(std::size_t shown, std::size_t all, const char* what) {
  if (shown == all) return "";
  return fmt::format(" The chart shows the {} of {} {} that are farthest from the mean. The CSV file has all of them.", shown, all, what);
}

Chart caterpillar(const char* name, const char* title, const Bars& bars, double reference_deg, std::string caption) {
  const Range range = bar_range(bars, reference_deg);
  const auto clear =
      static_cast<std::size_t>(std::count_if(bars.begin(), bars.end(), [&](const Bar& b) { return b.clear_of(reference_deg); }));
  if (any_cut(bars, range)) caption += " Bars that extend beyond the edge are cut off there. The table gives the whole intervals.";
  Chart chart{
      name,
      title,
      fmt::format("The chart has {} in ascending order. In {} of them the 95 % interval excludes {}. The lowest is {}. The highest is {}.",
                  base::counted(bars.size(), "row"), clear, degrees_text(reference_deg, 2), bar_words(bars.front()),
                  bar_words(bars.back())),
      std::move(caption),
      {}};
  begin_chart(chart.script, std::max(kLeastHeight, kFrameHeight + kRowHeight * static_cast<int>(bars.size())));
  set_tilt_axis(chart.script, range);
  chart.script.command("set xtics {:.9g}", tick_distance(range, kSurveyMostTicks));
  set_rows(chart.script, bars.size());
  return chart;
}

/// Counts of tilts in bins of a round width.
struct Bins {
  double width_deg;
  std::vector<DataRow> rows;  ///< middle, count
  std::size_t beyond;         ///< tilts that lie too far out to be drawn to scale
};

constexpr int kMostBins = 24;
constexpr double kFarthestName = 5;  // standard deviations; one wrongly named cartridge beyond would put all others into one bin

Range drawn_range(const std::vector<double>& tilts_deg) {
  double mean = 0;
  for (const double tilt : tilts_deg) mean += tilt / static_cast<double>(tilts_deg.size());
  double square = 0;
  for (const double tilt : tilts_deg) square += (tilt - mean) * (tilt - mean) / static_cast<double>(tilts_deg.size());
  const double reach = kFarthestName * std::sqrt(square);
  std::vector<double> near;
  for (const double tilt : tilts_deg) {
    if (std::abs(tilt - mean) <= reach) near.push_back(tilt);
  }
  return range_of(near, 0, kSurveyLeastSpan_deg);
}

Bins bins_of(const std::vector<double>& tilts_deg) {
  const Range range = drawn_range(tilts_deg);
  const double width = tick_distance(range, kMostBins);
  const double first = std::floor(range.low / width);
  const auto count = static_cast<std::size_t>(std::floor(range.high / width) - first) + 1;
  std::vector<double> counts(count, 0);
  Bins bins{width, {}, 0};
  for (const double tilt : tilts_deg) {
    const double bin = std::floor(tilt / width) - first;
    if (bin < 0 || bin >= static_cast<double>(count)) {
      ++bins.beyond;
    } else {
      ++counts[static_cast<std::size_t>(bin)];
    }
  }
  for (std::size_t i = 0; i < count; ++i) bins.rows.push_back({(first + static_cast<double>(i) + 0.5) * width, counts[i]});
  return bins;
}

std::string distribution_words(const Bins& bins, const Survey& s) {
  const auto fullest = std::max_element(bins.rows.begin(), bins.rows.end(), [](const auto& a, const auto& b) { return a[1] < b[1]; });
  return fmt::format(
      "The chart shows how many of {} need which azimuth, in bins from {} to {}. The fullest bin holds {:.0f} of them "
      "and lies between {} and {}. The mean is {}.",
      base::counted(s.cartridges.size(), "cartridge"), degrees_text(bins.rows.front()[0] - bins.width_deg / 2, 2),
      degrees_text(bins.rows.back()[0] + bins.width_deg / 2, 2), (*fullest)[1], degrees_text((*fullest)[0] - bins.width_deg / 2, 2),
      degrees_text((*fullest)[0] + bins.width_deg / 2, 2), degrees_text(s.mean_deg, 2));
}

constexpr FixedWords kMeanInKey = "NaN with lines lc rgb '#030000' lw 1.2 dt (2,3) title 'the mean'";

}  // namespace

std::optional<Chart> cartridge_caterpillar(const Survey& s) {
  const auto list = shown_cartridges(s);
  if (list.empty()) return std::nullopt;
  Bars bars;
  for (std::size_t i = 0; i < list.size(); ++i)
    bars.push_back({numbered(i + 1, list[i]->name), list[i]->tilt_deg, list[i]->interval95_deg});
  Chart chart = caterpillar("cartridges", "Cartridges", bars, s.mean_deg,
                            "Each row shows the azimuth that a cartridge needs, with its 95 % interval. The row numbers are those of the "
                            "table. The shaded band is the 95 % interval of the mean." +
                                shown_words(list.size(), s.cartridges.size(), "cartridges"));
  chart.script.command("set ylabel 'number in the table'");
  mark_tilt(chart.script, s.mean_deg, s.interval95_mean_deg);
  plot_bars(chart.script, bars, s.mean_deg);
  chart.script.command("{}", kMeanInKey);
  return chart;
}

std::optional<Chart> record_caterpillar(const Survey& s) {
  const auto list = shown_records(s);
  Bars bars;
  for (std::size_t j = 0; j < list.size(); ++j) {
    if (list[j]->cut_error_deg) bars.push_back({numbered(j + 1, list[j]->name), *list[j]->cut_error_deg, list[j]->interval95_deg});
  }
  if (bars.size() < list.size() || bars.empty()) return std::nullopt;
  Chart chart = caterpillar("records", "Records", bars, 0,
                            "Each row shows the cutting-azimuth error of a record side, relative to the records' mean, with its 95 % "
                            "interval. The row numbers are those of the table." +
                                shown_words(list.size(), s.records.size(), "record sides"));
  chart.script.command("set xlabel 'cutting-azimuth error (°)' offset 0,0.4; set ylabel 'record side'");
  mark_tilt(chart.script, 0, std::nullopt);
  plot_bars(chart.script, bars, 0);
  chart.script.command("NaN with lines lc rgb '#030000' lw 1.2 dt (2,3) title 'no error'");
  return chart;
}

std::optional<Chart> tilt_distribution(const Survey& s) {
  std::vector<double> tilts;
  for (const SurveyedCartridge& c : s.cartridges) {
    if (std::isfinite(c.tilt_deg)) tilts.push_back(c.tilt_deg);
  }
  if (tilts.size() < 3) return std::nullopt;
  const Bins bins = bins_of(tilts);
  Chart chart{
      "distribution",
      "Distribution of the needed azimuths",
      distribution_words(bins, s),
      fmt::format(
          "Each bin is {:g}° wide. An azimuth that rests on few sessions is shrunk towards the mean. These azimuths therefore spread a "
          "little less than the cartridges do.",
          bins.width_deg),
      {}};
  if (bins.beyond > 0) {
    chart.caption += fmt::format(" {} {} too far out to be drawn. The CSV file has all.", bins.beyond,
                                 bins.beyond == 1 ? "cartridge lies" : "cartridges lie");
  }
  begin_chart(chart.script, kLeastHeight + 40);
  const double half = bins.width_deg / 2;
  const Range range =
      range_of({bins.rows.front()[0] - half, bins.rows.back()[0] + half, s.mean_deg}, kSurveyMargin / 2, kSurveyLeastSpan_deg);
  set_tilt_axis(chart.script, range);
  chart.script.command("set ylabel 'cartridges'; set yrange [0:*]; set boxwidth {:.9g}; set style fill solid 0.35 border", bins.width_deg);
  mark_tilt(chart.script, s.mean_deg, s.interval95_mean_deg);
  chart.script.data("bins", bins.rows);
  chart.script.command("plot $bins using 1:2 with boxes lc rgb '#010000' lw 1 title 'cartridges', \\");
  chart.script.command("{}", kMeanInKey);
  return chart;
}

std::vector<Chart> survey_charts(const Survey& survey) {
  std::vector<Chart> charts;
  for (const auto& make : {cartridge_caterpillar, record_caterpillar, tilt_distribution}) {
    if (auto chart = make(survey)) charts.push_back(std::move(*chart));
  }
  return charts;
}

}  // namespace evenwall::internal::report
