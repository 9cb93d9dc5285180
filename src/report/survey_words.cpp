// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/survey_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/text.hpp"
#include "report/number_format.hpp"
#include "report/page.hpp"

namespace evenwall::internal::report {
namespace {

using Sentences = std::vector<std::string>;

std::string counted(std::size_t n, const char* what) { return fmt::format("{} {}{}", n, what, n == 1 ? "" : "s"); }

bool warns_of(const Survey& s, WarningCode code) {
  return std::any_of(s.warnings.begin(), s.warnings.end(), [&](const Warning& w) { return w.code == code; });
}

bool clear_of_zero(const SurveyedRecord& r) { return r.interval95_deg && ((*r.interval95_deg)[0] > 0 || (*r.interval95_deg)[1] < 0); }

const SurveyedRecord* furthest_record(const Survey& s) {
  const SurveyedRecord* furthest = nullptr;
  for (const SurveyedRecord& r : s.records) {
    if (r.cut_error_deg && (furthest == nullptr || std::abs(*r.cut_error_deg) > std::abs(*furthest->cut_error_deg))) furthest = &r;
  }
  return furthest;
}

std::string furthest_sentence(const SurveyedRecord& r) {
  return fmt::format(
      "Farthest from the records' mean is {}: its cut is off by {} (95 % interval {}), so sessions on it find tilts that are too {} by as "
      "much.",
      shortened(base::escaped(r.name), kNameColumns), tilt_text(*r.cut_error_deg, r.u_deg), bounds_text(r.interval95_deg, r.u_deg),
      *r.cut_error_deg < 0 ? "low" : "high");
}

}  // namespace

std::string tilt_text(double tilt_deg, const OptionalNumber& u_deg) {
  return u_deg ? signed_with_uncertainty(tilt_deg, *u_deg) + "°" : degrees_text(tilt_deg, 3);
}

std::string bounds_text(const std::optional<Interval>& interval, const OptionalNumber& u_deg) {
  return interval && u_deg ? interval_text(*interval, *u_deg) : "n/a";
}

std::string spread_text(const OptionalNumber& spread_deg) { return spread_deg ? fmt::format("{:.4f}°", *spread_deg) : "can't be told"; }

std::vector<const SurveyedCartridge*> furthest_from_mean(const Survey& s) {
  std::vector<const SurveyedCartridge*> list;
  for (const SurveyedCartridge& c : s.cartridges) list.push_back(&c);
  std::stable_sort(list.begin(), list.end(), [&](const SurveyedCartridge* a, const SurveyedCartridge* b) {
    return std::abs(a->tilt_deg - s.mean_deg) > std::abs(b->tilt_deg - s.mean_deg);
  });
  return list;
}

std::string survey_answer(const Survey& s) {
  if (!s.u_mean_deg || !s.interval95_mean_deg)
    return fmt::format("On average the cartridges need a tilt of {}.", degrees_text(s.mean_deg, 3));
  return fmt::format("On average the cartridges need a tilt of {}° (95 % interval {}).", signed_with_uncertainty(s.mean_deg, *s.u_mean_deg),
                     interval_text(*s.interval95_mean_deg, *s.u_mean_deg));
}

std::string survey_size(const Survey& s) {
  return fmt::format("{} solutions, {} cartridges, {} record sides.", s.solutions, s.cartridges.size(), s.records.size());
}

Sentences spread_sentences(const Survey& s) {
  Sentences said;
  if (s.spread_deg.cartridge) {
    const double spread_deg = *s.spread_deg.cartridge;
    said.push_back(
        fmt::format("Cartridges differ from one another by a standard deviation of {:.3f}°: about two in three need between {} and {}.",
                    spread_deg, degrees_text(s.mean_deg - spread_deg, 2), degrees_text(s.mean_deg + spread_deg, 2)));
  } else {
    said.push_back("How widely cartridges differ can't be told from this archive.");
  }
  if (s.spread_deg.residual) {
    said.push_back(fmt::format("One session strays by {:.3f}° (standard deviation) from what its cartridge and its record lead to expect.",
                               *s.spread_deg.residual));
  }
  return said;
}

Sentences record_sentences(const Survey& s) {
  const SurveyedRecord* furthest = furthest_record(s);
  if (furthest == nullptr) return {"Whether a record's cut is off can't be told from this archive; the warnings say why."};
  Sentences said;
  if (s.spread_deg.record && *s.spread_deg.record == 0) {
    said.push_back("No record's cut is shown to be off: the records differ no more than sessions on one record do.");
  } else {
    const auto off = static_cast<std::size_t>(std::count_if(s.records.begin(), s.records.end(), clear_of_zero));
    said.push_back(furthest_sentence(*furthest));
    said.push_back(fmt::format("Of {}, {} {} a 95 % interval that is clear of zero.", counted(s.records.size(), "record side"), off,
                               off == 1 ? "has" : "have"));
  }
  if (s.u_records_mean_deg) {
    said.push_back(
        fmt::format("How far the records' mean itself lies from a true cut is known by their spread only: ± {:.3f}°. It is in the "
                    "uncertainty of every cartridge's tilt and of their mean.",
                    *s.u_records_mean_deg));
  }
  const auto part = [](const SurveyedRecord& a, const SurveyedRecord& b) { return a.part < b.part; };
  const int parts = std::max_element(s.records.begin(), s.records.end(), part)->part;
  if (parts > 1)
    said.push_back(fmt::format("The archive falls into {} parts that share no cartridge: compare cut errors within a part only.", parts));
  return said;
}

std::string drift_figures(const SurveyDrift& d) {
  return fmt::format("{}° a year (95 % interval {}), {} to {}, {} dated solutions; p = {:.2g} for none.",
                     signed_with_uncertainty(d.deg_per_year, d.u_deg_per_year), interval_text(d.interval95_deg_per_year, d.u_deg_per_year),
                     base::escaped(d.first_date), base::escaped(d.last_date), d.solutions, d.p_value);
}

std::string drift_sentence(const Survey& s) {
  if (!s.drift) return "Drift of the rig can't be told: fewer than three different dates, or none apart from what else changed.";
  return (warns_of(s, WarningCode::kDrift) ? "The rig DRIFTS: " : "No drift of the rig is shown: ") + drift_figures(*s.drift);
}

std::string named_sentence(const Survey& s) {
  if (s.bad_solutions.empty() && s.warnings.empty()) return "Nothing was found amiss: no solution stands out, and there is no warning.";
  const std::size_t bad = s.bad_solutions.size();
  const std::string off =
      bad == 0 ? "No solution is contradicted by the others"
               : fmt::format("{} {} contradicted by the others and left out", counted(bad, "solution"), bad == 1 ? "is" : "are");
  return fmt::format(
      "{}; {} below.", off,
      s.warnings.empty() ? "no warning stands" : counted(s.warnings.size(), "warning") + (s.warnings.size() == 1 ? " stands" : " stand"));
}

}  // namespace evenwall::internal::report
