// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/session_priors.hpp"

#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {

GainPriors gain_priors(const SessionFacts& facts) {
  return {facts.cut_level_difference_db.value_or(0) / kDbPerNeper, facts.cut_level_u_db.value_or(kDefaultCutLevel_u_db) / kDbPerNeper, 0};
}

GaugePriors gauge_priors(const SessionFacts& facts, const SolveOptions& options, bool in_degrees) {
  GaugePriors priors;
  priors.in_degrees = in_degrees;
  priors.u_deg = options.gauge_u_deg ? options.gauge_u_deg : facts.gauge_u_deg;
  priors.u_scale = facts.gauge_scale_u.value_or(kDefaultScale_u);
  priors.scale_stated = facts.gauge_scale_u.has_value();
  priors.u_zero_deg = options.gauge_zero_u_deg.value_or(facts.gauge_zero_u_deg.value_or(0));
  priors.u_record_deg =
      options.record_correction ? options.record_correction->u_deg : options.record_u_deg.value_or(facts.record_u_deg.value_or(0));
  return priors;
}

}  // namespace evenwall::internal::solve
