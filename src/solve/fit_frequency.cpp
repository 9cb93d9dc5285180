// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/fit_frequency.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>
#include <utility>
#include <vector>

#include "evenwall/error.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

/// Frequencies of all tones that drive one channel, ascending, without duplicates.
std::vector<double> tones(const Session& session) {
  std::vector<double> all;
  for (const Step& step : session.steps) {
    if (!step.measurement()) continue;
    for (const Passage& p : step.measurement()->passages) {
      if (p.kind == PassageKind::kTone && p.driven != Driven::kBoth && p.frequency_hz) all.push_back(*p.frequency_hz);
    }
  }
  std::sort(all.begin(), all.end());
  all.erase(std::unique(all.begin(), all.end()), all.end());
  return all;
}

/// Number of the ascending frequencies that match this one.
std::ptrdiff_t matches(const std::vector<double>& ascending, double frequency_hz) {
  const double within = kFrequencyMatch * frequency_hz;
  const auto first = std::partition_point(ascending.begin(), ascending.end(), [&](double g) { return frequency_hz - g > within; });
  const auto last = std::partition_point(first, ascending.end(), [&](double g) { return g - frequency_hz <= within; });
  return last - first;
}

/// Frequencies at which a step to be fitted has the crosstalk in both directions, ascending.
std::vector<double> frequencies(const Session& session) {
  std::vector<double> all;
  for (const Step& step : session.steps) {
    if (step.log.use != StepUse::kYes || !step.measurement()) continue;
    for (const LeakPair& pair : step.measurement()->crosstalk_spectrum) {
      if (pair.right_into_left && pair.left_into_right) all.push_back(pair.frequency_hz);
    }
  }
  std::sort(all.begin(), all.end());
  return all;
}

double choose_frequency(const Session& session, OptionalNumber asked_hz) {
  const std::vector<double> all = frequencies(session);
  if (all.empty()) {
    for (const Step& step : session.steps) {
      if (step.error()) throw Error(ErrorKind::kData, "no step can be used. The first error: " + step.error()->message);
    }
    const auto fitted = [](const Step& step) { return step.log.use == StepUse::kYes; };
    if (!session.steps.empty() && std::none_of(session.steps.begin(), session.steps.end(), fitted)) {
      throw Error(
          ErrorKind::kData,
          "no step has `use` yes, so nothing can be fitted. Set `use` to yes for the steps that show how the crosstalk changes with tilt.");
    }
    throw Error(ErrorKind::kData,
                "no step has both a left-only and a right-only passage at one frequency. Capture both bands at each tilt.");
  }
  // Choose the frequency that most steps share. Among equals, a tone takes precedence over a point of a sweep, then the frequency nearest
  // to the wanted one.
  using Rank = std::tuple<std::ptrdiff_t, bool, double>;
  const std::vector<double> heard = tones(session);
  double best = 0;
  Rank best_rank{-1, false, 0};
  for (const double f : all) {
    if (asked_hz && std::abs(f - *asked_hz) > kFrequencyMatch * *asked_hz) continue;
    const Rank rank{matches(all, f), matches(heard, f) > 0, -std::abs(std::log(f / asked_hz.value_or(kWantedFrequency_hz)))};
    if (rank > best_rank) std::tie(best, best_rank) = std::pair(f, rank);
  }
  if (std::get<0>(best_rank) < 0) {
    throw Error(
        ErrorKind::kData,
        fmt::format(
            "no step has both a left-only and a right-only passage within 5 % of {:.1f} Hz. The lowest frequency found is {:.1f} Hz. "
            "Select a frequency that both bands have.",
            *asked_hz, all.front()));
  }
  return best;
}

}  // namespace

double fit_frequency_hz(const Session& session, const SolveOptions& options) {
  return choose_frequency(session, options.frequency_hz ? options.frequency_hz : session.facts.frequency_hz);
}

}  // namespace evenwall::internal::solve
