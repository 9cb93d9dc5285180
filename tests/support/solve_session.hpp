// Sessions from vectors, no audio.
#pragma once

#include "support/rig.hpp"

inline evenwall::Session session_of(const rig::Rig& r, const std::vector<double>& tilts_deg, double u, rig::Draw& draw,
                                    evenwall::OptionalNumber gauge_u_deg) {
  evenwall::Session session;
  session.facts.gauge_u_deg = gauge_u_deg;
  int index = 0;
  for (const double t : tilts_deg) {
    evenwall::Step step;
    step.reading = rig::reading(r, t, t, u, draw, ++index);
    session.steps.push_back(std::move(step));
  }
  return session;
}

inline bool says(const evenwall::Warnings& warnings, const std::string& code) {
  return std::any_of(warnings.begin(), warnings.end(), [&](const evenwall::Warning& w) { return w.code == code; });
}
