// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/survey.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "base/counted.hpp"
#include "evenwall/error.hpp"
#include "numeric/distributions.hpp"
#include "survey/decomposition.hpp"
#include "survey/drift.hpp"
#include "survey/groups.hpp"
#include "survey/method_constants.hpp"

namespace evenwall::internal::survey {
namespace {

Interval interval_of(const numeric::MixedEstimate& e) {
  const double half = numeric::student_quantile(0.975, e.degrees_of_freedom) * e.u;
  return {e.value - half, e.value + half};
}

std::vector<int> counted(const std::vector<int>& level, std::size_t levels) {
  std::vector<int> count(levels, 0);
  for (const int l : level) ++count[static_cast<std::size_t>(l)];
  return count;
}

void set_spreads(Survey& survey, const Archive& archive, const Decomposition& fit) {
  const numeric::VarianceComponents v = fit.model.variances();
  const bool each_once = archive.cartridges.size() == archive.solutions.size();
  if (fit.bears.cartridges) survey.spread_deg.cartridge = std::sqrt(v.first);
  if (fit.bears.records) survey.spread_deg.record = std::sqrt(v.second);
  // If every cartridge was solved once, its own deviation and the session's error cannot be separated. The deviation of the cartridges is
  // the larger share.
  auto& rest = !fit.bears.cartridges && each_once ? survey.spread_deg.cartridge : survey.spread_deg.residual;
  rest = std::sqrt(v.residual);
}

void set_mean(Survey& survey, const numeric::MixedEstimate& mean) {
  survey.mean_deg = mean.value;
  survey.u_mean_deg = mean.u;
  survey.mean_degrees_of_freedom = mean.degrees_of_freedom;
  survey.interval95_mean_deg = interval_of(mean);
}

void list_records(Survey& survey, const Archive& archive, const Decomposition& fit, const numeric::MixedEstimates& estimates) {
  const auto count = counted(archive.record, archive.records.size());
  const auto parts = parts_of(archive);
  for (std::size_t j = 0; j < archive.records.size(); ++j) {
    SurveyedRecord record;
    record.name = archive.records[j].shown();
    record.record = archive.records[j].record;
    record.record_side = archive.records[j].side;
    record.solutions = count[j];
    record.part = parts[j];
    if (fit.bears.records) {
      const numeric::MixedEstimate& e = estimates.second_contrasts[j];
      record.cut_error_deg = e.value;
      record.u_deg = e.u;
      record.degrees_of_freedom = e.degrees_of_freedom;
      record.interval95_deg = interval_of(e);
    }
    survey.records.push_back(std::move(record));
  }
  if (fit.bears.records) survey.u_records_mean_deg = *survey.spread_deg.record / std::sqrt(static_cast<double>(archive.records.size()));
}

/// If cartridges cannot be separated from errors, the tilt of a cartridge is the mean of its tilts minus the cutting-azimuth errors.
std::vector<double> plain_means(const Archive& archive, const Survey& survey) {
  std::vector<double> sum(archive.cartridges.size(), 0);
  for (std::size_t k = 0; k < archive.solutions.size(); ++k) {
    const auto& record = survey.records[static_cast<std::size_t>(archive.record[k])];
    sum[static_cast<std::size_t>(archive.cartridge[k])] += archive.solutions[k].least_crosstalk_deg - record.cut_error_deg.value_or(0);
  }
  const auto count = counted(archive.cartridge, archive.cartridges.size());
  for (std::size_t i = 0; i < sum.size(); ++i) sum[i] /= count[i];
  return sum;
}

void list_cartridges(Survey& survey, const Archive& archive, const Decomposition& fit, const numeric::MixedEstimates& estimates) {
  const auto count = counted(archive.cartridge, archive.cartridges.size());
  const auto plain = plain_means(archive, survey);
  for (std::size_t i = 0; i < archive.cartridges.size(); ++i) {
    SurveyedCartridge cartridge;
    cartridge.name = archive.cartridges[i];
    cartridge.solutions = count[i];
    cartridge.tilt_deg = plain[i];
    const numeric::MixedEstimate* e = fit.bears.cartridges             ? &estimates.mean_plus_first[i]
                                      : archive.cartridges.size() == 1 ? &estimates.mean
                                                                       : nullptr;
    if (e != nullptr) {
      cartridge.tilt_deg = e->value;
      cartridge.u_deg = e->u;
      cartridge.degrees_of_freedom = e->degrees_of_freedom;
      cartridge.interval95_deg = interval_of(*e);
    }
    survey.cartridges.push_back(std::move(cartridge));
  }
  for (std::size_t k = 0; k < archive.solutions.size(); ++k) {
    const ArchivedSolution& s = archive.solutions[k];
    if (!s.equal_crosstalk_deg) continue;
    const auto name = s.record ? std::optional(archive.records[static_cast<std::size_t>(archive.record[k])].shown()) : std::nullopt;
    survey.cartridges[static_cast<std::size_t>(archive.cartridge[k])].equal_crosstalk.push_back({name, *s.equal_crosstalk_deg});
  }
}

void warn_of_design(Survey& survey, const Archive& archive, const Decomposition& fit) {
  const auto warn = [&](WarningCode code, std::string message) { survey.warnings.push_back({code, std::move(message)}); };
  if (archive.records.size() == 1) {
    warn(WarningCode::kOneRecord,
         fmt::format("{} is the only record. Its cutting-azimuth error cannot be separated from the mean of the cartridges, which includes "
                     "it. Solve some of the cartridges on another record.",
                     archive.records[0].shown()));
  } else if (!fit.bears.records) {
    warn(WarningCode::kRecordsConfounded,
         "the cutting-azimuth errors of the records cannot be determined, because too few cartridges were solved on several records. The "
         "azimuths include these errors. Solve more cartridges on several records.");
  }
  if (archive.cartridges.size() == 1) {
    warn(WarningCode::kOneCartridge, archive.cartridges[0] +
                                         " is the only cartridge. The mean is its own azimuth, and the spread of cartridges cannot be "
                                         "determined. Solve more cartridges.");
  } else if (!fit.bears.cartridges) {
    warn(WarningCode::kCartridgesConfounded,
         "the spread of cartridges cannot be separated from the errors of single sessions, because too few cartridges were solved twice. "
         "The spread that is given includes both. Solve some cartridges twice.");
  }
  const int parts =
      survey.records.empty() ? 1 : std::max_element(survey.records.begin(), survey.records.end(), [](const auto& a, const auto& b) {
                                     return a.part < b.part;
                                   })->part;
  if (parts < 2) return;
  std::vector<std::string> words;
  for (int part = 1; part <= parts; ++part) {
    std::vector<std::string> names;
    for (const SurveyedRecord& r : survey.records) {
      if (r.part == part) names.push_back(r.name);
    }
    words.push_back(fmt::format("({}) {}", part, listed(names)));
  }
  warn(
      WarningCode::kDisconnected,
      fmt::format("the archive consists of {} parts that share no cartridge: {}. Records of different parts are compared on the "
                  "assumption that the cartridges of each part need the same azimuth on average. Solve a cartridge of one part on a record "
                  "of another.",
                  parts, listed(words)));
}

void tell_bad(Survey& survey, std::vector<BadSolution> bad) {
  for (const BadSolution& b : bad) {
    survey.warnings.push_back(
        {WarningCode::kSolutionOff,
         fmt::format("{}: {} on {} has an azimuth of {:+.3f}°. The other solutions predict {:+.3f}° (standardised residual {:+.1f}). This "
                     "solution is excluded. Check its session, and capture it again.",
                     b.solution, b.cartridge, b.record, b.tilt_deg, b.expected_deg, b.standardised_residual)});
  }
  survey.bad_solutions = std::move(bad);
}

void tell_drift(Survey& survey, const Archive& archive) {
  survey.drift = drift_of(archive);
  if (!survey.drift || survey.drift->p_value >= kDrifts) return;
  survey.warnings.push_back({WarningCode::kDrift, fmt::format("the azimuths change by {:+.4f}° per year (p = {:.2g}). The drift is not "
                                                              "corrected. Look for a part of the rig that slips or wears.",
                                                              survey.drift->deg_per_year, survey.drift->p_value)});
}

}  // namespace
}  // namespace evenwall::internal::survey

namespace evenwall {

Survey survey(std::vector<ArchivedSolution> solutions, const SurveyOptions& options) {
  using namespace internal::survey;
  Archive whole = archived(std::move(solutions));
  Survey made;
  made.warnings = std::move(whole.warnings);
  Sifted sifting = sifted(std::move(whole));
  const Archive& archive = sifting.archive;
  const auto fit = decomposed(archive, {});
  if (!fit) {
    throw Error(ErrorKind::kData,
                fmt::format("the archive has {}, but a survey needs two or more. No survey is made. Solve more sessions, each with "
                            "the cartridge in session.json.",
                            internal::base::counted(archive.solutions.size(), "usable solution")));
  }
  made.solutions = static_cast<int>(archive.solutions.size());
  const internal::numeric::MixedEstimates estimates = fit->model.estimates();
  set_mean(made, estimates.mean);
  set_spreads(made, archive, *fit);
  list_records(made, archive, *fit, estimates);
  list_cartridges(made, archive, *fit, estimates);
  warn_of_design(made, archive, *fit);
  tell_bad(made, std::move(sifting.bad));
  tell_drift(made, archive);
  made.grouped_by = options.grouped_by;
  if (options.grouped_by) made.groups = groups_of(archive, made.records, made.u_records_mean_deg);
  return made;
}

}  // namespace evenwall
