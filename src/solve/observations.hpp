// SPDX-License-Identifier: GPL-3.0-or-later
// Turns a session's steps into the observations of one frequency, and finds what they show about the wiring.
#pragma once

#include <vector>

#include "evenwall/model.hpp"
#include "solve/signal_fit.hpp"

namespace evenwall::internal::solve {

struct Observations {
  double frequency_hz = 0;
  bool in_degrees = true;              ///< unit of the log; else user units
  std::vector<Observation> fitted;     ///< steps with a logged tilt first
  std::vector<std::size_t> set_aside;  ///< steps of the session that are excluded because of their crosstalk
  double leak_variance_factor = 1;     ///< factor that the crosstalk's covariances lack, by its own scatter about one response
  Warnings warnings;                   ///< those of the session, and each excluded step with its reason
};

/// Whether the logged tilt, if there is one, is within the limits of a possible setting.
bool is_setting(const LogEntry& log);

/// The crosstalk of one measurement at a frequency, matched within ±5 %, if both sides were measured.
std::optional<LeakPair> leaks_near(const Measurement& measured, double frequency_hz);

/// The steps are sorted by tilt, then by capture name, so that the order of the log does not matter. Steps without a logged tilt come last,
/// in the order of capture. If no step has one, they are all fitted by their crosstalk.
/// Throws: Error(kData) if no step can be used.
Observations observations_of(const Session& session, const SolveOptions& options);

/// The observation of one step, which need not be used in the fit. Requires: the step is measured.
Observation observation_of(const Step& step, std::size_t index, const LeakPair& leaks, double rpm);

/// Number of the steps with a logged tilt, which come first.
std::size_t steps_with_tilt(const std::vector<Observation>& fitted);

/// Number of different logged tilts.
std::size_t distinct_settings(const std::vector<Observation>& fitted);

/// Excludes a row from the fit because of its crosstalk, and warns with the reason `why`.
void set_aside(std::size_t row, const std::string& why, const Session& session, Observations& observations);

/// Whether any step was read without phases. The whole session is then fitted by magnitudes.
bool sizes_only(const std::vector<Observation>& observations);

/// Exchanges the left and the right channel.
void swap_channels(Observation& observation);

/// The level ratio that straight leads would give, nepers, for given common unknowns.
OptionalNumber ln_level_ratio_straight(const Observation& observation, const Eigen::VectorXd& common);

}  // namespace evenwall::internal::solve
