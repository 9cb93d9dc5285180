// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/headline.hpp"

#include "evenwall/report.hpp"
#include "support/catch.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

constexpr const char* kBold = "\x1b[1m";
constexpr const char* kBoldGreen = "\x1b[1;32m";

Solution verified_solution(bool agrees) {
  Solution s = example_solution();
  s.now = example_now();
  s.now->from = TurnFrom::kVerify;
  s.now->capture = "check.wav";
  s.verification = {{"check.wav", 1.1, -40, -41, -40.2, -40.9, {-42, -39}, {-43, -39}, agrees}};
  s.verdict = Verdict{agrees ? VerdictState::kEnough : VerdictState::kCheck, 0.05, "x"};
  return s;
}

std::string headline_of(const Solution& solution) {
  Page page(Ink::kColour);
  add_headline(page, solution, "The answer.");
  return page.text();
}

}  // namespace

TEST_CASE("without a verification, the answer stands alone") {
  const std::string text = headline_of(example_solution());
  CHECK(text.starts_with(kBoldGreen));
  CHECK(text.find("The answer.") == std::string(kBoldGreen).size());
}

TEST_CASE("the result of the verification comes before the answer, and a failed one is an alert") {
  CHECK(headline_of(verified_solution(true)).starts_with(kBoldGreen + std::string("Set and verified: check.wav")));
  const std::string failed = headline_of(verified_solution(false));
  CHECK(failed.starts_with(kBold + std::string("Verification failed: check.wav is not as predicted.")));
  CHECK(failed.find(kBoldGreen + std::string("The answer.")) != std::string::npos);
}

TEST_CASE("brief and full text begin with the same lines") {
  for (const bool agrees : {true, false}) {
    const Solution s = verified_solution(agrees);
    const std::string brief = solution_brief(s, true), full = solution_text(s, true);
    const std::size_t end = brief.find("The azimuth is");
    REQUIRE(end != std::string::npos);
    CHECK(brief.substr(0, end) == full.substr(0, end));
  }
}
