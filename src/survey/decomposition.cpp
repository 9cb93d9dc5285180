// SPDX-License-Identifier: GPL-3.0-or-later
#include "survey/decomposition.hpp"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "numeric/distributions.hpp"
#include "survey/method_constants.hpp"

namespace evenwall::internal::survey {
namespace {

numeric::CrossedData data_of(const Archive& archive, const std::vector<double>& covariate, Bears bears) {
  numeric::CrossedData data;
  for (const ArchivedSolution& s : archive.solutions) data.y.push_back(s.least_crosstalk_deg);
  data.covariate = covariate;
  if (bears.cartridges) {
    data.first = archive.cartridge;
    data.first_levels = static_cast<int>(archive.cartridges.size());
  }
  if (bears.records) {
    data.second = archive.record;
    data.second_levels = static_cast<int>(archive.records.size());
  }
  return data;
}

std::vector<Bears> candidates(const Archive& archive) {
  const bool cartridges = archive.cartridges.size() > 1;
  const bool records = archive.records.size() > 1;
  std::vector<Bears> list;
  if (cartridges && records) list.push_back({true, true});
  if (cartridges) list.push_back({true, false});
  if (records) list.push_back({false, true});
  list.push_back({false, false});
  return list;
}

/// The indices of the solutions to exclude in this round, the worst first.
std::vector<std::size_t> worst_of(const Archive& archive, const std::vector<numeric::LeftOutResidual>& residuals, double limit) {
  double largest = 0;
  for (const numeric::LeftOutResidual& r : residuals) largest = std::max(largest, std::abs(r.standardised));
  std::vector<std::size_t> worst;
  for (std::size_t k = 0; k < residuals.size(); ++k) {
    if (std::abs(residuals[k].standardised) > std::max(limit, kRoundShare * largest)) worst.push_back(k);
  }
  std::stable_sort(worst.begin(), worst.end(),
                   [&](std::size_t a, std::size_t b) { return std::abs(residuals[a].standardised) > std::abs(residuals[b].standardised); });
  std::set<int> cartridges;
  std::erase_if(worst, [&](std::size_t k) { return !cartridges.insert(archive.cartridge[k]).second; });
  return worst;
}

}  // namespace

std::optional<Decomposition> decomposed(const Archive& archive, const std::vector<double>& covariate) {
  if (archive.solutions.size() < (covariate.empty() ? 2U : 3U)) return std::nullopt;
  for (const Bears bears : candidates(archive)) {
    numeric::MixedModel model(data_of(archive, covariate, bears));
    if (!model.separable()) continue;
    model.fit();
    return Decomposition{bears, std::move(model)};
  }
  return std::nullopt;
}

Sifted sifted(Archive archive) {
  Sifted result;
  const auto all = static_cast<double>(archive.solutions.size());
  for (int round = 0; round < kMostRounds && archive.solutions.size() >= kFewestToJudge; ++round) {
    const auto fit = decomposed(archive, {});
    const auto n = static_cast<double>(archive.solutions.size());
    if (!fit) break;
    const double limit = numeric::student_quantile(1 - kFalseAlarm / (2 * all), n - 2);
    const auto residuals = fit->model.left_out_residuals();
    const auto worst = worst_of(archive, residuals, limit);
    if (worst.empty()) break;
    if (static_cast<double>(result.bad.size() + worst.size()) > kMostBad * all) break;
    std::vector<bool> keep(archive.solutions.size(), true);
    for (const std::size_t k : worst) {
      const ArchivedSolution& s = archive.solutions[k];
      result.bad.push_back({s.name, *s.cartridge, archive.records[static_cast<std::size_t>(archive.record[k])].shown(),
                            s.least_crosstalk_deg, residuals[k].expected, residuals[k].standardised});
      keep[k] = false;
    }
    archive = kept_of(archive, keep);
  }
  result.archive = std::move(archive);
  return result;
}

}  // namespace evenwall::internal::survey
