// SPDX-License-Identifier: GPL-3.0-or-later
// Writes a survey as text for a terminal.
#include <fmt/format.h>

#include <algorithm>

#include "base/counted.hpp"
#include "base/text.hpp"
#include "evenwall/report.hpp"
#include "evenwall/words.hpp"
#include "report/number_format.hpp"
#include "report/page.hpp"
#include "report/survey_words.hpp"

namespace evenwall::internal::report {
namespace {

constexpr std::size_t kMostRows = 40;          // of one table; the document and --csv have all rows
constexpr std::size_t kShortNameColumns = 28;  // leaves room for the numbers

std::string short_named(const std::string& name) { return shortened_inside(base::escaped(name), kShortNameColumns); }

void add_left_over(Page& page, std::size_t rows, const std::string& one) {
  if (rows > kMostRows) {
    page.paragraph(fmt::format("… {} not shown. --json and --csv give all of them.",
                               base::counted(rows - kMostRows, "more " + one + " is", "more " + one + "s are")));
  }
}

void add_spreads(Page& page, const Survey& s) {
  page.heading("Spreads");
  page.table({{{"spread of", "standard deviation"},
               {"cartridges", spread_text(s.spread_deg.cartridge)},
               {"record sides", spread_text(s.spread_deg.record)},
               {"sessions, from the expected azimuth", spread_text(s.spread_deg.residual)}}});
}

void add_records(Page& page, const Survey& s) {
  page.heading("Records: cutting-azimuth errors, relative to their mean");
  TextTable table{{{"record and side", "error", "u", "95 % interval", "solutions"}}};
  for (std::size_t j = 0; j < std::min(kMostRows, s.records.size()); ++j) {
    const SurveyedRecord& r = s.records[j];
    table.rows.push_back({short_named(r.name), r.cut_error_deg ? tilt_text(*r.cut_error_deg, r.u_deg) : "not determined", u_text(r.u_deg),
                          bounds_text(r.interval95_deg, r.u_deg), std::to_string(r.solutions)});
  }
  page.table(table);
  add_left_over(page, s.records.size(), "record");
}

void add_cartridges(Page& page, const Survey& s) {
  page.heading("Cartridges: needed azimuths, farthest from the mean first");
  TextTable table{{{"cartridge", "azimuth", "u", "95 % interval", "solutions"}}};
  const auto list = furthest_from_mean(s);
  for (std::size_t i = 0; i < std::min(kMostRows, list.size()); ++i) {
    const SurveyedCartridge& c = *list[i];
    table.rows.push_back({short_named(c.name), tilt_text(c.tilt_deg, c.u_deg), u_text(c.u_deg), bounds_text(c.interval95_deg, c.u_deg),
                          std::to_string(c.solutions)});
  }
  page.table(table);
  add_left_over(page, list.size(), "cartridge");
}

void add_equal_crosstalk(Page& page, const Survey& s) {
  TextTable table{{{"cartridge", "record", "equal-crosstalk azimuth"}}};
  std::size_t all = 0;
  for (const SurveyedCartridge& c : s.cartridges) {
    for (const EqualCrosstalkOnRecord& e : c.equal_crosstalk) {
      if (++all <= kMostRows)
        table.rows.push_back({short_named(c.name), short_named(e.record.value_or("(not named)")), degrees_text(e.tilt_deg, 3)});
    }
  }
  if (all == 0) return;
  page.heading("Equal-crosstalk azimuths (each holds only for its record)");
  page.table(table);
  add_left_over(page, all, "equal-crosstalk azimuth");
}

void add_groups(Page& page, const Survey& s) {
  if (!s.grouped_by) return;
  page.heading("By " + base::escaped(*s.grouped_by));
  if (s.groups.empty()) page.paragraph("No session has a text under this key.");
  TextTable table{{{"group", "mean", "u", "95 % interval", "spread", "cartridges"}}};
  for (std::size_t g = 0; g < std::min(kMostRows, s.groups.size()); ++g) {
    const SurveyedGroup& group = s.groups[g];
    table.rows.push_back({shortened_inside(base::escaped(group.name), 20), tilt_text(group.mean_deg, group.u_mean_deg),
                          u_text(group.u_mean_deg), bounds_text(group.interval95_mean_deg, group.u_mean_deg),
                          group.spread_cartridge_deg ? fmt::format("{:.3f}°", *group.spread_cartridge_deg) : "n/a",
                          std::to_string(group.cartridges)});
  }
  if (!s.groups.empty()) page.table(table);
  add_left_over(page, s.groups.size(), "group");
}

void add_drift(Page& page, const Survey& s) {
  page.heading("Drift");
  page.paragraph(drift_sentence(s));
}

void add_survey_warnings(Page& page, const Warnings& warnings) {
  if (warnings.empty()) return;
  page.heading("Warnings");
  for (std::size_t i = 0; i < std::min(kMostRows, warnings.size()); ++i)
    page.paragraph(enum_name(warnings[i].code) + ": " + base::escaped(warnings[i].message), "  - ");
  add_left_over(page, warnings.size(), "warning");
}

}  // namespace
}  // namespace evenwall::internal::report

namespace evenwall {

std::string survey_text(const Survey& survey, bool colour) {
  using namespace internal::report;
  Page page(colour ? Ink::kColour : Ink::kPlain);
  page.answer(survey_answer(survey));
  page.paragraph(answer_note(survey));
  page.paragraph(survey_size(survey));
  add_spreads(page, survey);
  add_records(page, survey);
  add_cartridges(page, survey);
  add_groups(page, survey);
  add_equal_crosstalk(page, survey);
  add_drift(page, survey);
  add_survey_warnings(page, survey.warnings);
  return page.text();
}

}  // namespace evenwall
