// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/survey_words.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/counted.hpp"
#include "base/text.hpp"
#include "report/number_format.hpp"
#include "report/page.hpp"
#include "report/solution_words.hpp"

namespace evenwall::internal::report {
namespace {

using Sentences = std::vector<std::string>;

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
      "{} is farthest from the records' mean: its cutting-azimuth error is {} (u = {}, 95 % interval {}). Sessions on it find "
      "azimuths that are too {} by as much.",
      shortened(base::escaped(r.name), kNameColumns), tilt_text(*r.cut_error_deg, r.u_deg), u_text(r.u_deg),
      bounds_text(r.interval95_deg, r.u_deg), *r.cut_error_deg < 0 ? "low" : "high");
}

std::string drift_figures(const SurveyDrift& d) {
  return fmt::format(
      "The azimuths change by {} per year (u = {}, 95 % interval {}). This rests on {}, dated {} to {}. Without a "
      "drift, a change at least as large has the probability p = {:.2g}.",
      tilt_text(d.deg_per_year, d.u_deg_per_year), u_text(d.u_deg_per_year), interval_text(d.interval95_deg_per_year, d.u_deg_per_year),
      base::counted(d.solutions, "solution"), base::escaped(d.first_date), base::escaped(d.last_date), d.p_value);
}

}  // namespace

std::string tilt_text(double tilt_deg, const OptionalNumber& u_deg) {
  return u_deg ? signed_text(tilt_deg, *u_deg) + "°" : degrees_text(tilt_deg, 3);
}

std::string u_text(const OptionalNumber& u_deg) { return u_deg ? uncertainty_text(*u_deg) + "°" : "n/a"; }

std::string bounds_text(const std::optional<Interval>& interval, const OptionalNumber& u_deg) {
  return interval && u_deg ? interval_text(*interval, *u_deg) : "n/a";
}

std::string spread_text(const OptionalNumber& spread_deg) { return spread_deg ? fmt::format("{:.4f}°", *spread_deg) : "not determined"; }

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
    return fmt::format("On average, the cartridges need an azimuth of {}.", degrees_text(s.mean_deg, 3));
  return fmt::format("On average, the cartridges need an azimuth of {} (95 % interval {}).", tilt_text(s.mean_deg, s.u_mean_deg),
                     interval_text(*s.interval95_mean_deg, *s.u_mean_deg));
}

std::string answer_note(const Survey& s) {
  std::string note = std::string(kAzimuth) + " A clockwise turn raises the spindle side.";
  note += s.u_records_mean_deg ? " The mean and the azimuths of the cartridges hold for an error-free cut."
                               : " The mean and the azimuths of the cartridges include the cutting-azimuth errors of the records.";
  if (s.u_mean_deg) note += fmt::format(" The standard uncertainty u of the mean is {}.", u_text(s.u_mean_deg));
  return note;
}

std::string survey_size(const Survey& s) {
  return fmt::format("{}, {}, {}.", base::counted(s.solutions, "solution"), base::counted(s.cartridges.size(), "cartridge"),
                     base::counted(s.records.size(), "record side"));
}

Sentences spread_sentences(const Survey& s) {
  Sentences said;
  if (s.spread_deg.cartridge) {
    const double spread_deg = *s.spread_deg.cartridge;
    said.push_back(fmt::format(
        "The standard deviation between cartridges is {:.3f}°. About two in three cartridges need an azimuth between {} and {}.",
        spread_deg, degrees_text(s.mean_deg - spread_deg, 2), degrees_text(s.mean_deg + spread_deg, 2)));
  } else {
    said.push_back("The spread of the cartridges cannot be determined from this archive.");
  }
  if (s.spread_deg.residual) {
    said.push_back(fmt::format("The standard deviation of a session from the azimuth expected for its cartridge and its record is {:.3f}°.",
                               *s.spread_deg.residual));
  }
  return said;
}

Sentences record_sentences(const Survey& s) {
  const SurveyedRecord* furthest = furthest_record(s);
  if (furthest == nullptr)
    return {"The cutting-azimuth errors of the records cannot be determined from this archive. The warnings state the reason."};
  Sentences said;
  if (s.spread_deg.record && *s.spread_deg.record == 0) {
    said.push_back("The archive shows no cutting-azimuth error of any record. The records differ no more than sessions on one record do.");
  } else {
    const auto off = static_cast<std::size_t>(std::count_if(s.records.begin(), s.records.end(), clear_of_zero));
    said.push_back(furthest_sentence(*furthest));
    said.push_back(fmt::format("The 95 % interval excludes zero for {} of {}.", off, base::counted(s.records.size(), "record side")));
  }
  if (s.u_records_mean_deg) {
    said.push_back(fmt::format(
        "The records' mean itself differs from an error-free cut by an unknown angle. Its standard uncertainty follows from the "
        "spread of the records: u = {:.3f}°. The uncertainties of every cartridge's azimuth and of their mean include it.",
        *s.u_records_mean_deg));
  }
  const auto part = [](const SurveyedRecord& a, const SurveyedRecord& b) { return a.part < b.part; };
  const int parts = std::max_element(s.records.begin(), s.records.end(), part)->part;
  if (parts > 1) {
    said.push_back(
        fmt::format("The archive consists of {} parts that share no cartridge. Compare cutting-azimuth errors only within a part.", parts));
  }
  return said;
}

std::string drift_sentence(const Survey& s) {
  if (!s.drift) {
    return "A drift of the rig cannot be determined. The solutions have fewer than three different dates, or a drift cannot be separated "
           "from cartridges and records.";
  }
  return (warns_of(s, WarningCode::kDrift) ? "The rig drifts. " : "The archive shows no drift of the rig. ") + drift_figures(*s.drift);
}

std::string named_sentence(const Survey& s) {
  if (s.bad_solutions.empty() && s.warnings.empty()) return "No solution is contradicted by the others, and there are no warnings.";
  const std::size_t bad = s.bad_solutions.size();
  const std::string off = bad == 0 ? "No solution is contradicted by the others"
                                   : base::counted(bad, "solution is contradicted by the others and is excluded",
                                                   "solutions are contradicted by the others and are excluded");
  if (s.warnings.empty()) return off + ". There are no warnings.";
  return fmt::format("{}. {} listed below.", off, base::counted(s.warnings.size(), "warning is", "warnings are"));
}

}  // namespace evenwall::internal::report
