// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/balance.hpp"

#include "evenwall/solve.hpp"
#include "support/catch.hpp"
#include "support/solve_session.hpp"

using namespace evenwall;
using namespace evenwall::internal::solve;

namespace {

constexpr double kDb = 8.685889638065036;

struct Leads {
  Session session;
  rig::Rig rig;
  double cartridge_db, preamplifier_db;
};

/// Steps at −2 … 2; those marked in `swapped` were captured with the leads between cartridge and preamplifier swapped.
Leads with_swapped_leads(std::uint64_t seed, const std::vector<bool>& swapped) {
  rig::Draw draw(seed);
  Leads leads;
  leads.rig = rig::random_rig(draw);
  const rig::C preamplifier = std::polar(std::pow(10.0, draw.uniform(-3, 3) / 20), draw.uniform(-0.1, 0.1));
  const rig::C cartridge = leads.rig.gain_left;
  leads.cartridge_db = kDb * std::log(std::abs(cartridge));
  leads.preamplifier_db = kDb * std::log(std::abs(preamplifier));
  leads.session.facts.gauge_u_deg = 0.0;
  leads.session.facts.bands = {Band::kLeft, Band::kRight, Band::kLateral};
  for (std::size_t i = 0; i < swapped.size(); ++i) {
    const double tilt = -2 + 4.0 * static_cast<double>(i) / static_cast<double>(swapped.size() - 1);
    rig::Rig path = leads.rig;
    path.gain_left = swapped[i] ? cartridge / preamplifier : cartridge * preamplifier;
    Step step = rig::step(path, tilt, tilt, 2e-5, draw, static_cast<int>(i));
    step.log.leads_swapped = swapped[i];
    if (swapped[i]) swap_channels_of(step);
    leads.session.steps.push_back(std::move(step));
  }
  return leads;
}

}  // namespace

TEST_CASE("Swapped leads separate the balance of the preamplifier from that of the cartridge") {
  for (std::uint64_t seed = 1; seed <= 20; ++seed) {
    INFO("seed " << seed);
    const Leads leads = with_swapped_leads(seed, {false, true, false, true, false});
    const Solution s = solve(leads.session, {});
    REQUIRE(s.balance.preamplifier_db);
    // Four standard uncertainties, and a hundredth of a decibel for the part of the levels.
    CHECK_THAT(*s.balance.preamplifier_db, WithinAbs(leads.preamplifier_db, 4 * *s.balance.u_preamplifier_db + 0.01));
    CHECK_THAT(*s.balance.cartridge_db, WithinAbs(leads.cartridge_db, 4 * *s.balance.u_cartridge_db + 0.01));
    CHECK(*s.balance.u_preamplifier_db < 0.02);
    // The tilt response determines the sum of both parts. The cartridge's part is known no worse than the sum, because the swapped steps
    // separate what is subtracted from it. A tenth is allowed for the scatter of the two fits (the ratio is at most 1.06 in these 20; it
    // would be 1.01 to 1.63 if the two parts were added up).
    CHECK(*s.balance.u_cartridge_db < 1.1 * *s.balance.u_from_tilt_response_db);
    CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(rig::least_truth_deg(leads.rig), 0.01));
    CHECK(s.tilt_response.sense == Sense::kAsLogged);
    for (const WarningCode code :
         {WarningCode::kSwappedOrReversed, WarningCode::kStepOff, WarningCode::kLevelMismatch, WarningCode::kBalanceMovesWithTilt})
      CHECK_FALSE(says(s.warnings, code));
    for (const SolvedStep& step : s.steps) {
      CHECK_THAT(step.audit_deg.value(), WithinAbs(0, 0.02));
      CHECK_THAT(*step.balance_db, WithinAbs(leads.preamplifier_db + leads.cartridge_db, 0.2));
    }
  }
}

TEST_CASE("If no leads or all leads are swapped, the two balances remain unknown and the answer remains correct") {
  for (const bool all : {false, true}) {
    const Leads leads = with_swapped_leads(7, std::vector<bool>(5, all));
    const Solution s = solve(leads.session, {});
    CHECK_FALSE(s.balance.preamplifier_db);
    CHECK_FALSE(s.balance.cartridge_db);
    CHECK_THAT(s.least_crosstalk.tilt_deg, WithinAbs(rig::least_truth_deg(leads.rig), 0.01));
  }
}
