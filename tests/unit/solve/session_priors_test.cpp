// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/session_priors.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

TEST_CASE("Cut levels in decibels become nepers, and without a statement they have the usual uncertainty") {
  SessionFacts facts;
  CHECK(gain_priors(facts).ln_cut_ratio == 0);
  const double usual = gain_priors(facts).u_ln_cut_ratio;
  CHECK(usual > 0);
  facts.cut_level_difference_db = 20;
  facts.cut_level_u_db = 2;
  CHECK_THAT(gain_priors(facts).ln_cut_ratio, WithinRel(std::log(10.0), 1e-12));
  CHECK_THAT(gain_priors(facts).u_ln_cut_ratio, WithinRel(std::log(10.0) / 10, 1e-12));
}

TEST_CASE("An option counts before the session's fact, and a record correction before both") {
  SessionFacts facts;
  facts.gauge_u_deg = 0.05;
  facts.record_u_deg = 0.3;
  SolveOptions options;
  CHECK_FALSE(gauge_priors(facts, options, true).scale_stated);
  CHECK(gauge_priors(facts, options, true).u_deg == 0.05);
  CHECK(gauge_priors(facts, options, true).u_record_deg == 0.3);
  CHECK(gauge_priors(facts, options, true).in_degrees);
  CHECK_FALSE(gauge_priors(facts, options, false).in_degrees);
  facts.gauge_scale_u = 0.004;
  options.gauge_u_deg = 0.02;
  options.record_u_deg = 0.2;
  options.gauge_zero_u_deg = 0.07;
  CHECK(gauge_priors(facts, options, true).scale_stated);
  CHECK(gauge_priors(facts, options, true).u_scale == 0.004);
  CHECK(gauge_priors(facts, options, true).u_deg == 0.02);
  CHECK(gauge_priors(facts, options, true).u_record_deg == 0.2);
  CHECK(gauge_priors(facts, options, true).u_zero_deg == 0.07);
  options.record_correction = RecordCorrection{};
  options.record_correction->u_deg = 0.1;
  CHECK(gauge_priors(facts, options, true).u_record_deg == 0.1);
}
