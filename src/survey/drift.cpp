// SPDX-License-Identifier: GPL-3.0-or-later
#include "survey/drift.hpp"

#include <algorithm>
#include <charconv>
#include <chrono>
#include <cmath>
#include <numeric>
#include <set>

#include "numeric/distributions.hpp"
#include "survey/decomposition.hpp"
#include "survey/method_constants.hpp"

namespace evenwall::internal::survey {
namespace {

std::optional<unsigned> number_at(std::string_view text, std::size_t at, std::size_t digits) {
  unsigned value = 0;
  if (text.size() < at + digits) return std::nullopt;
  const auto [end, fault] = std::from_chars(text.data() + at, text.data() + at + digits, value);
  return fault == std::errc() && end == text.data() + at + digits ? std::optional(value) : std::nullopt;
}

}  // namespace

std::optional<double> years_of(std::string_view date) {
  using namespace std::chrono;
  const std::string_view text = date.substr(0, date.find('T'));
  const auto y = number_at(text, 0, 4);
  if (!y || (text.size() != 4 && text.size() != 7 && text.size() != 10)) return std::nullopt;
  const auto m = text.size() >= 7 ? number_at(text, 5, 2) : std::optional(7U);
  const auto d = text.size() == 10 ? number_at(text, 8, 2) : std::optional(text.size() == 7 ? 15U : 2U);
  if (!m || !d) return std::nullopt;
  const year_month_day day{year(static_cast<int>(*y)), month(*m), std::chrono::day(*d)};
  if (!day.ok()) return std::nullopt;
  return static_cast<double>((sys_days(day) - sys_days(year(2000) / 1 / 1)).count()) / kDaysInYear;
}

std::optional<SurveyDrift> drift_of(const Archive& archive) {
  std::vector<bool> dated;
  std::vector<double> years;
  std::set<double> distinct;
  std::set<std::string> dates;
  for (const ArchivedSolution& s : archive.solutions) {
    const auto at = s.date ? years_of(*s.date) : std::nullopt;
    dated.push_back(at.has_value());
    if (!at) continue;
    years.push_back(*at);
    distinct.insert(*at);
    dates.insert(*s.date);
  }
  if (distinct.size() < 3) return std::nullopt;
  const double middle = std::accumulate(years.begin(), years.end(), 0.0) / static_cast<double>(years.size());
  for (double& y : years) y -= middle;
  const auto fit = decomposed(kept_of(archive, dated), years);
  if (!fit) return std::nullopt;
  const numeric::MixedEstimate slope = fit->model.estimates().slope;
  if (!(slope.u > 0)) return std::nullopt;
  const double half = numeric::student_quantile(0.975, slope.degrees_of_freedom) * slope.u;
  const double p = 2 * numeric::student_cdf(-std::abs(slope.value) / slope.u, slope.degrees_of_freedom);
  return SurveyDrift{
      slope.value,    slope.u,        {slope.value - half, slope.value + half}, slope.degrees_of_freedom, p, static_cast<int>(years.size()),
      *dates.begin(), *dates.rbegin()};
}

}  // namespace evenwall::internal::survey
