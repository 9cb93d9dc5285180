// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/survey_tables.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "report/number_format.hpp"
#include "report/page_frame.hpp"
#include "report/survey_words.hpp"

namespace evenwall::internal::report {
namespace {

constexpr std::size_t kMostOfOneCartridge = 4;  // equal-crosstalk tilts in a cell

std::string named(const std::string& name) { return shortened_inside(base::escaped(name), kNameColumns); }

std::string freedom_text(const OptionalNumber& degrees) { return degrees ? fmt::format("{:.1f}", *degrees) : "n/a"; }

std::string equal_crosstalk_text(const SurveyedCartridge& c) {
  std::string all;
  const std::size_t most = std::min(kMostOfOneCartridge, c.equal_crosstalk.size());
  for (std::size_t i = 0; i < most; ++i) {
    const EqualCrosstalkOnRecord& e = c.equal_crosstalk[i];
    all += fmt::format("{}{} on {}", i == 0 ? "" : "; ", degrees_text(e.tilt_deg, 2), e.record ? named(*e.record) : "(not named)");
  }
  if (c.equal_crosstalk.size() > most) all += fmt::format("; and {} more", c.equal_crosstalk.size() - most);
  return all;
}

double off(const SurveyedRecord& r) { return r.cut_error_deg ? std::abs(*r.cut_error_deg) : 0; }

}  // namespace

std::vector<const SurveyedCartridge*> shown_cartridges(const Survey& s) {
  auto list = furthest_from_mean(s);
  list.resize(std::min(list.size(), kMostPageRows));
  std::stable_sort(list.begin(), list.end(), [](const auto* a, const auto* b) { return a->tilt_deg < b->tilt_deg; });
  return list;
}

std::vector<const SurveyedRecord*> shown_records(const Survey& s) {
  std::vector<const SurveyedRecord*> list;
  for (const SurveyedRecord& r : s.records) list.push_back(&r);
  std::stable_sort(list.begin(), list.end(), [](const auto* a, const auto* b) { return off(*a) > off(*b); });
  list.resize(std::min(list.size(), kMostPageRows));
  std::stable_sort(list.begin(), list.end(), [](const auto* a, const auto* b) { return a->cut_error_deg < b->cut_error_deg; });
  return list;
}

std::string numbered(std::size_t number, const std::string& name) { return fmt::format("{}. {}", number, named(name)); }

TextTable spread_table(const Survey& s) {
  return {{{"spread of", "standard deviation"},
           {"cartridges", spread_text(s.spread_deg.cartridge)},
           {"record sides", spread_text(s.spread_deg.record)},
           {"sessions, from the expected azimuth", spread_text(s.spread_deg.residual)}}};
}

TextTable record_table(const Survey& s) {
  TextTable table{{{"record and side", "cutting-azimuth error", "u", "95 % interval", "degrees of freedom", "solutions", "part"}}};
  const auto list = shown_records(s);
  for (std::size_t j = 0; j < list.size(); ++j) {
    const SurveyedRecord& r = *list[j];
    table.rows.push_back({numbered(j + 1, r.name), r.cut_error_deg ? tilt_text(*r.cut_error_deg, r.u_deg) : "not determined",
                          u_text(r.u_deg), bounds_text(r.interval95_deg, r.u_deg), freedom_text(r.degrees_of_freedom),
                          std::to_string(r.solutions), std::to_string(r.part)});
  }
  return table;
}

TextTable cartridge_table(const Survey& s) {
  TextTable table{{{"cartridge", "azimuth", "u", "95 % interval", "solutions", "equal-crosstalk azimuths"}}, true};
  const auto list = shown_cartridges(s);
  for (std::size_t i = 0; i < list.size(); ++i) {
    const SurveyedCartridge& c = *list[i];
    table.rows.push_back({numbered(i + 1, c.name), tilt_text(c.tilt_deg, c.u_deg), u_text(c.u_deg), bounds_text(c.interval95_deg, c.u_deg),
                          std::to_string(c.solutions), equal_crosstalk_text(c)});
  }
  return table;
}

TextTable group_table(const Survey& s) {
  TextTable table{{{"group", "mean", "u", "95 % interval", "spread", "cartridges", "solutions"}}};
  for (std::size_t g = 0; g < std::min(kMostPageRows, s.groups.size()); ++g) {
    const SurveyedGroup& group = s.groups[g];
    table.rows.push_back({named(group.name), tilt_text(group.mean_deg, group.u_mean_deg), u_text(group.u_mean_deg),
                          bounds_text(group.interval95_mean_deg, group.u_mean_deg), spread_text(group.spread_cartridge_deg),
                          std::to_string(group.cartridges), std::to_string(group.solutions)});
  }
  return table;
}

TextTable bad_solution_table(const Survey& s) {
  TextTable table{{{"solution", "cartridge", "record", "found", "expected", "standardised residual"}}};
  for (std::size_t i = 0; i < std::min(kMostPageRows, s.bad_solutions.size()); ++i) {
    const BadSolution& b = s.bad_solutions[i];
    table.rows.push_back({named(b.solution), named(b.cartridge), named(b.record), degrees_text(b.tilt_deg, 2),
                          degrees_text(b.expected_deg, 2), fmt::format("{:.1f}", b.standardised_residual)});
  }
  return table;
}

}  // namespace evenwall::internal::report
