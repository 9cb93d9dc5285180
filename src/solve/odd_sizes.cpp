// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/odd_sizes.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>
#include <utility>

#include "solve/magnitude_fit.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

double agreement_of_sizes(const std::vector<Observation>& observations, const GainPriors& gains, const GaugePriors& gauge) {
  const double p_value = fit_magnitudes(observations, gains, gauge).tilt.stated_p_value;
  return std::isfinite(p_value) ? p_value : 0.0;
}

}  // namespace

void settle_sizes(const Session& session, const GainPriors& gains, const GaugePriors& gauge, Observations& observations) {
  assert(sizes_only(observations.fitted));
  auto& fitted = observations.fitted;
  if (fitted.size() < kSizesFrom || fitted.size() > kSizesMost || agreement_of_sizes(fitted, gains, gauge) >= kSizesApart) return;
  std::size_t odd = 0;
  double best = 0;
  double next = 0;
  for (std::size_t row = 0; row < fitted.size(); ++row) {
    std::vector<Observation> rest = fitted;
    rest.erase(rest.begin() + static_cast<std::ptrdiff_t>(row));
    const double p_value = agreement_of_sizes(rest, gains, gauge);
    if (p_value > best) {
      next = std::exchange(best, p_value);
      odd = row;
    } else {
      next = std::max(next, p_value);
    }
  }
  if (best < kSizesAgree || best < kSizesClearly * next) return;
  set_aside(
      odd,
      fmt::format("its readings contradict the other steps, which agree with each other (p = {:.2f}). The step is excluded from the fit. "
                  "Check its numbers and the sign of its tilt for typing errors, or repeat the reading.",
                  best),
      session, observations);
}

}  // namespace evenwall::internal::solve
