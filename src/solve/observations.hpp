// SPDX-License-Identifier: GPL-3.0-or-later
// From a session's steps to the observations of one frequency, and what the wiring did to them.
#pragma once

#include <vector>

#include "evenwall/model.hpp"
#include "solve/signal_fit.hpp"

namespace evenwall::internal::solve {

struct Observations {
  double frequency_hz = 0;
  bool in_degrees = true;  ///< the log; else user units
  std::vector<Observation> fitted;
  std::vector<std::size_t> set_aside;  ///< steps of the session whose leaks are not the others'
  double leak_variance_factor = 1;     ///< what the leaks' covariances lack, by the leaks' own scatter about one response
  Warnings warnings;                   ///< steps left out, and why
};

/// Whether the tilt that is logged, if any, can be one.
bool is_setting(const LogEntry& log);

/// The leaks of one measurement at a frequency, matched within ±5 %, where both sides are there.
std::optional<LeakPair> leaks_near(const Measurement& measured, double frequency_hz);

/// Steps in an order of their own (tilt, then capture name), so that the order of the log does not matter.
/// Throws: Error(kData) where no step can be used.
Observations observations_of(const Session& session, const SolveOptions& options);

/// One step's observation, whatever its use. Requires: the step is measured.
Observation observation_of(const Step& step, std::size_t index, const LeakPair& leaks, double rpm);

/// Takes a row out of the fitted ones for what its leaks are, and says so.
void set_aside(std::size_t row, const std::string& why, const Session& session, Observations& observations);

/// What the both-channel passages and the order of the bands say of the wiring, over all steps used.
struct WiringEvidence {
  std::optional<bool> channels_swapped;
  std::optional<bool> polarity_reversed;
  bool antiphase_seen = false;
};
WiringEvidence wiring_evidence(const Session& session, const Observations& observations);

/// Whether any step was read in size only: the whole session is then fitted by sizes.
bool sizes_only(const std::vector<Observation>& observations);

/// Left and right change places.
void swap_channels(Observation& observation);

/// The level ratio as it would be with the leads straight, nepers, for given common unknowns.
OptionalNumber ln_level_ratio_straight(const Observation& observation, const Eigen::VectorXd& common);

}  // namespace evenwall::internal::solve
