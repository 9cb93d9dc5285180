#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "evenwall/report.hpp"
#include "report/number_format.hpp"
#include "report/page.hpp"

namespace evenwall {
namespace {

constexpr std::size_t kMostRows = 40;     // of one table; the document and --csv have all
constexpr std::size_t kNameColumns = 28;  // leaves room for the numbers

std::string named(const std::string& name) { return shortened(escaped(name), kNameColumns); }

std::string tilt_text(double tilt_deg, const OptionalNumber& u_deg) {
  return u_deg ? signed_with_uncertainty(tilt_deg, *u_deg) + "°" : degrees_text(tilt_deg, 3);
}

std::string bounds_text(const std::optional<Interval>& interval, const OptionalNumber& u_deg) {
  return interval && u_deg ? interval_text(*interval, *u_deg) : "n/a";
}

std::string spread_text(const OptionalNumber& spread_deg) { return spread_deg ? fmt::format("{:.4f}°", *spread_deg) : "can't be told"; }

std::string answer_sentence(const Survey& s) {
  if (!s.u_mean_deg || !s.interval95_mean_deg)
    return fmt::format("On average the cartridges need a tilt of {}.", degrees_text(s.mean_deg, 3));
  return fmt::format("On average the cartridges need a tilt of {}° (95 % interval {}).", signed_with_uncertainty(s.mean_deg, *s.u_mean_deg),
                     interval_text(*s.interval95_mean_deg, *s.u_mean_deg));
}

void add_left_over(Page& page, std::size_t rows, const char* what) {
  if (rows > kMostRows) page.paragraph(fmt::format("… and {} more {}: --json and --csv give all.", rows - kMostRows, what));
}

void add_spreads(Page& page, const Survey& s) {
  page.heading("Spreads (standard deviations)");
  page.table({{{"of", "spread"},
               {"one cartridge from the next", spread_text(s.spread_deg.cartridge)},
               {"one record side from the next", spread_text(s.spread_deg.record)},
               {"one session from what is expected", spread_text(s.spread_deg.residual)}}});
}

void add_records(Page& page, const Survey& s) {
  page.heading("Records: cut error, relative to their mean");
  TextTable table{{{"record and side", "cut error ± u", "95 % interval", "solutions"}}};
  for (std::size_t j = 0; j < std::min(kMostRows, s.records.size()); ++j) {
    const SurveyedRecord& r = s.records[j];
    table.rows.push_back({named(r.name), r.cut_error_deg ? tilt_text(*r.cut_error_deg, r.u_deg) : "can't be told",
                          bounds_text(r.interval95_deg, r.u_deg), std::to_string(r.solutions)});
  }
  page.table(table);
  add_left_over(page, s.records.size(), "records");
}

std::vector<const SurveyedCartridge*> furthest_first(const Survey& s) {
  std::vector<const SurveyedCartridge*> list;
  for (const SurveyedCartridge& c : s.cartridges) list.push_back(&c);
  std::stable_sort(list.begin(), list.end(), [&](const SurveyedCartridge* a, const SurveyedCartridge* b) {
    return std::abs(a->tilt_deg - s.mean_deg) > std::abs(b->tilt_deg - s.mean_deg);
  });
  return list;
}

void add_cartridges(Page& page, const Survey& s) {
  page.heading("Cartridges: tilt needed on a true cut, furthest from the mean first");
  TextTable table{{{"cartridge", "tilt ± u", "95 % interval", "solutions"}}};
  const auto list = furthest_first(s);
  for (std::size_t i = 0; i < std::min(kMostRows, list.size()); ++i) {
    const SurveyedCartridge& c = *list[i];
    table.rows.push_back(
        {named(c.name), tilt_text(c.tilt_deg, c.u_deg), bounds_text(c.interval95_deg, c.u_deg), std::to_string(c.solutions)});
  }
  page.table(table);
  add_left_over(page, list.size(), "cartridges");
}

void add_equal_crosstalk(Page& page, const Survey& s) {
  TextTable table{{{"cartridge", "on", "equal crosstalk"}}};
  std::size_t all = 0;
  for (const SurveyedCartridge& c : s.cartridges) {
    for (const EqualCrosstalkOnRecord& e : c.equal_crosstalk) {
      if (++all <= kMostRows) table.rows.push_back({named(c.name), named(e.record.value_or("(not named)")), degrees_text(e.tilt_deg, 3)});
    }
  }
  if (all == 0) return;
  page.heading("Equal crosstalk, as found (it does not add up over records)");
  page.table(table);
  add_left_over(page, all, "of these");
}

void add_groups(Page& page, const Survey& s) {
  if (!s.grouped_by) return;
  page.heading("By " + escaped(*s.grouped_by));
  if (s.groups.empty()) page.paragraph("No solution's session has such a text.");
  TextTable table{{{"group", "mean ± u", "95 % interval", "spread", "cartridges"}}};
  for (std::size_t g = 0; g < std::min(kMostRows, s.groups.size()); ++g) {
    const SurveyedGroup& group = s.groups[g];
    table.rows.push_back({shortened(escaped(group.name), 20), tilt_text(group.mean_deg, group.u_mean_deg),
                          bounds_text(group.interval95_mean_deg, group.u_mean_deg),
                          group.spread_cartridge_deg ? fmt::format("{:.3f}°", *group.spread_cartridge_deg) : "n/a",
                          std::to_string(group.cartridges)});
  }
  if (!s.groups.empty()) page.table(table);
  add_left_over(page, s.groups.size(), "groups");
}

void add_drift(Page& page, const Survey& s) {
  page.heading("Drift");
  if (!s.drift) {
    page.paragraph("Can't be told: fewer than three different dates, or none apart from what else changed.");
    return;
  }
  const SurveyDrift& d = *s.drift;
  page.paragraph(fmt::format("{}° a year (95 % interval {}), {} to {}, {} dated solutions; p = {:.2g} for none.",
                             signed_with_uncertainty(d.deg_per_year, d.u_deg_per_year),
                             interval_text(d.interval95_deg_per_year, d.u_deg_per_year), escaped(d.first_date), escaped(d.last_date),
                             d.solutions, d.p_value));
}

void add_warnings(Page& page, const Warnings& warnings) {
  if (warnings.empty()) return;
  page.heading("Warnings");
  for (std::size_t i = 0; i < std::min(kMostRows, warnings.size()); ++i)
    page.paragraph(escaped(warnings[i].code) + ": " + escaped(warnings[i].message), "  - ");
  add_left_over(page, warnings.size(), "warnings");
}

}  // namespace

std::string survey_text(const Survey& survey, bool colour) {
  Page page(colour ? Ink::kColour : Ink::kPlain);
  page.answer(answer_sentence(survey));
  page.paragraph(
      fmt::format("{} solutions, {} cartridges, {} record sides.", survey.solutions, survey.cartridges.size(), survey.records.size()));
  add_spreads(page, survey);
  add_records(page, survey);
  add_cartridges(page, survey);
  add_groups(page, survey);
  add_equal_crosstalk(page, survey);
  add_drift(page, survey);
  add_warnings(page, survey.warnings);
  return page.text();
}

}  // namespace evenwall
