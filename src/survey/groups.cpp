// SPDX-License-Identifier: GPL-3.0-or-later
#include "survey/groups.hpp"

#include <cmath>
#include <map>

#include "numeric/distributions.hpp"
#include "survey/decomposition.hpp"

namespace evenwall::internal::survey {
namespace {

/// The group's solutions, corrected to one error-free record.
Archive on_true_record(const Archive& archive, const std::vector<std::size_t>& members, const std::vector<SurveyedRecord>& records) {
  Archive own;
  for (const std::size_t k : members) {
    own.solutions.push_back(archive.solutions[k]);
    ArchivedSolution& s = own.solutions.back();
    s.least_crosstalk_deg -= records[static_cast<std::size_t>(archive.record[k])].cut_error_deg.value_or(0);
    s.record.reset();
    s.record_side.reset();
  }
  return kept_of(own, std::vector<bool>(members.size(), true));
}

/// Variance that the uncertainties of the cutting-azimuth errors add to a mean over these solutions. They are treated as independent; the
/// larger ones nearly are.
double records_variance(const Archive& archive, const std::vector<std::size_t>& members, const std::vector<SurveyedRecord>& records) {
  std::map<int, double> share;
  for (const std::size_t k : members) share[archive.record[k]] += 1 / static_cast<double>(members.size());
  double variance = 0;
  for (const auto& [record, weight] : share) {
    const double u = weight * records[static_cast<std::size_t>(record)].u_deg.value_or(0);
    variance += u * u;
  }
  return variance;
}

void set_mean(SurveyedGroup& group, const Decomposition& fit, double more_variance) {
  const numeric::MixedEstimate mean = fit.model.estimates().mean;
  const double u = std::sqrt(mean.u * mean.u + more_variance);
  // Welch–Satterthwaite; the added variance is treated as known.
  const double degrees = mean.u > 0 ? mean.degrees_of_freedom * std::pow(u / mean.u, 4) : mean.degrees_of_freedom;
  const double half = numeric::student_quantile(0.975, degrees) * u;
  group.mean_deg = mean.value;
  group.u_mean_deg = u;
  group.interval95_mean_deg = Interval{mean.value - half, mean.value + half};
  const numeric::VarianceComponents v = fit.model.variances();
  if (fit.bears.cartridges) group.spread_cartridge_deg = std::sqrt(v.first);
  if (!fit.bears.cartridges && group.cartridges == group.solutions) group.spread_cartridge_deg = std::sqrt(v.residual);
}

}  // namespace

std::vector<SurveyedGroup> groups_of(const Archive& archive, const std::vector<SurveyedRecord>& records,
                                     OptionalNumber u_records_mean_deg) {
  std::map<std::string, std::vector<std::size_t>> members;
  for (std::size_t k = 0; k < archive.solutions.size(); ++k) {
    if (archive.solutions[k].group) members[*archive.solutions[k].group].push_back(k);
  }
  const double u_mean = u_records_mean_deg.value_or(0);
  std::vector<SurveyedGroup> groups;
  for (const auto& [name, list] : members) {
    const Archive own = on_true_record(archive, list, records);
    SurveyedGroup group;
    group.name = name;
    group.cartridges = static_cast<int>(own.cartridges.size());
    group.solutions = static_cast<int>(list.size());
    if (const auto fit = decomposed(own, {})) {
      set_mean(group, *fit, records_variance(archive, list, records) + u_mean * u_mean);
    } else {
      group.mean_deg = own.solutions.front().least_crosstalk_deg;
    }
    groups.push_back(std::move(group));
  }
  return groups;
}

}  // namespace evenwall::internal::survey
