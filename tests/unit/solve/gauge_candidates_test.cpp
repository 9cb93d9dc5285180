// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/gauge_candidates.hpp"

#include "solve/gauge_accounts.hpp"
#include "solve/method_constants.hpp"
#include "support/catch.hpp"
#include "support/gauge_example.hpp"

using namespace gauge_example;

TEST_CASE("Sums of numbers that are given by logarithms are correct, even beyond the range of a double") {
  CHECK_THAT(log_sum({std::log(2.0), std::log(3.0)}), WithinAbs(std::log(5.0), 1e-15));
  CHECK_THAT(log_sum({-2000, -2000 + std::log(2.0)}), WithinAbs(-2000 + std::log(3.0), 1e-12));
  CHECK(log_sum({}) == -HUGE_VAL);
}

TEST_CASE("From six settings on, hypotheses with two wrong settings are considered") {
  rig::Draw draw(5);
  const Example few = random_example(draw, 5), more = random_example(draw, 6);
  const auto most_wrong = [](const Example& e) {
    GaugeProblem problem(e.observations, e.signal, e.priors);
    std::size_t most = 0;
    for (const TiltAccount& account : stated_accounts(problem, radians(0.5)).normalised()) most = std::max(most, account.wrong.size());
    return most;
  };
  CHECK(most_wrong(few) == 1);
  CHECK(most_wrong(more) == 2);
}

TEST_CASE("The total weight of candidates is that of their accounts, also if some of them become no accounts") {
  rig::Draw draw(6);
  const Example example = random_example(draw, 6);
  const GaugeProblem problem(example.observations, example.signal, example.priors);
  Candidates candidates(problem);
  CHECK(candidates.log_total() == -HUGE_VAL);
  candidates.add(problem.errors(radians(0.1)), radians(0.1), 0, Candidates::Wrong::kOne);
  const double one = candidates.log_total();
  candidates.add(problem.errors(radians(0.2)), radians(0.2), 1, Candidates::Wrong::kOne);
  CHECK(candidates.log_total() > one);
  // Its weight is too small for an account, and large enough to change the total.
  Candidates alone(problem);
  alone.add(problem.errors(radians(0.3)), radians(0.3), 0, Candidates::Wrong::kNobody);
  candidates.add(problem.errors(radians(0.3)), radians(0.3), candidates.log_total() + std::log(kLeastAccount) - 5 - alone.log_total(),
                 Candidates::Wrong::kNobody);
  WeighedAccounts accounts = candidates.accounts();
  CHECK(candidates.log_total() == accounts.log_total());
  CHECK(std::none_of(accounts.accounts().begin(), accounts.accounts().end(),
                     [](const TiltAccount& a) { return a.gauge_u_rad == radians(0.3); }));
}
