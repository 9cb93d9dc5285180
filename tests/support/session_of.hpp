// SPDX-License-Identifier: GPL-3.0-or-later
// Measures every capture of a simulated session in memory, without a disk.
#pragma once

#include <string>

#include "evenwall/error.hpp"
#include "evenwall/measure.hpp"
#include "evenwall/simulate.hpp"
#include "support/memory_source.hpp"

inline evenwall::Session measured_session(const evenwall::SimulatedSession& simulated) {
  evenwall::Session session;
  session.facts = simulated.scenario().session;
  for (std::size_t i = 0; i < simulated.size(); ++i) {
    evenwall::MeasureOptions options;
    options.rpm = simulated.scenario().record.rpm;
    options.bands = session.facts.bands;
    evenwall::LogEntry log;
    log.capture = "step-" + std::to_string(i + 1);
    const auto& planned = simulated.scenario().steps[i];
    const auto& units = simulated.scenario().units_per_deg;
    if (units)
      log.tilt_units = planned.tilt_deg * *units;
    else
      log.tilt_deg = planned.tilt_deg;
    log.use = planned.use;
    MemorySource capture = in_memory(*simulated.capture(i));
    session.steps.push_back({log, evenwall::measure(capture, options)});
  }
  return session;
}
