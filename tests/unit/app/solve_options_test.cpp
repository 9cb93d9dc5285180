// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/solve_options.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

CommandLine parsed_solve(std::vector<const char*> words) {
  words.insert(words.begin(), {"evenwall", "solve", "x"});
  return parse_command_line(static_cast<int>(words.size()), words.data());
}

SolutionView view_of(std::vector<const char*> words) { return std::get<SolveCommand>(parsed_solve(std::move(words))).view; }

}  // namespace

TEST_CASE("each flag of solve chooses its view, and two of them contradict each other") {
  CHECK(view_of({}) == SolutionView::kBrief);
  CHECK(view_of({"--full"}) == SolutionView::kFull);
  CHECK(view_of({"--chart"}) == SolutionView::kFullWithChart);
  CHECK(view_of({"--table"}) == SolutionView::kTable);
  CHECK(view_of({"--csv"}) == SolutionView::kCsv);
  CHECK(view_of({"--steps-csv"}) == SolutionView::kStepsCsv);
  CHECK(view_of({"--json"}) == SolutionView::kJson);
  for (const char* flag : {"--full", "--chart", "--table", "--csv", "--steps-csv"}) {
    CHECK(std::holds_alternative<Farewell>(parsed_solve({flag, "--json"})));
    if (std::string(flag) != "--table") CHECK(std::holds_alternative<Farewell>(parsed_solve({"--table", flag})));
  }
}

TEST_CASE("the name of the output chooses a document, and a flag takes precedence") {
  CHECK(view_of({"-o", "a.json"}) == SolutionView::kJson);
  CHECK(view_of({"-o", "a.jsonl"}) == SolutionView::kJson);
  CHECK(view_of({"-o", "a.csv"}) == SolutionView::kCsv);
  CHECK(view_of({"-o", "a.txt"}) == SolutionView::kBrief);
  CHECK(view_of({"-o", "-"}) == SolutionView::kBrief);
  CHECK(view_of({"-o", "a.json", "--full"}) == SolutionView::kFull);
  CHECK(view_of({"-o", "a.csv", "--steps-csv"}) == SolutionView::kStepsCsv);
  CHECK(view_of({"-o", "a.csv", "--json"}) == SolutionView::kJson);
}

TEST_CASE("the tolerance is a number of degrees within its range") {
  CHECK(std::get<SolveCommand>(parsed_solve({"--tolerance", "0.1"})).options.tolerance_deg == 0.1);
  CHECK(std::holds_alternative<Farewell>(parsed_solve({"--tolerance", "0"})));
  CHECK(std::holds_alternative<Farewell>(parsed_solve({"--tolerance", "6"})));
}

TEST_CASE("a SHA-256 is requested with each view") {
  CHECK_FALSE(std::get<SolveCommand>(parsed_solve({})).sha256);
  for (const char* flag : {"--full", "--chart", "--table", "--csv", "--steps-csv", "--json"}) {
    CHECK(std::get<SolveCommand>(parsed_solve({flag, "--sha256"})).sha256);
  }
}

TEST_CASE("an aim, a band and a weighting are words and two frequencies, and others are refused") {
  const SolveOptions o = std::get<SolveCommand>(parsed_solve({"--aim", "band", "--band", "100-10000", "--weighting", "a"})).options;
  CHECK(o.aim == Aim::kBand);
  REQUIRE(o.band);
  CHECK(o.band->from_hz == 100);
  CHECK(o.band->to_hz == 10000);
  CHECK(o.weighting == Weighting::kA);
  const SolveOptions as_typed =
      std::get<SolveCommand>(parsed_solve({"--aim", " Phase", "--band", "100 \xe2\x80\x93 10000", "--weighting", "A"})).options;
  CHECK(as_typed.aim == Aim::kPhase);
  REQUIRE(as_typed.band);
  CHECK(as_typed.band->to_hz == 10000);
  CHECK(as_typed.weighting == Weighting::kA);
  for (const char* band : {"100", "100-", "-100", "10000-100", "100-100", "a-b", "1-20", "100-200-300"}) {
    INFO(band);
    CHECK(std::holds_alternative<Farewell>(parsed_solve({"--band", band})));
  }
  CHECK(std::holds_alternative<Farewell>(parsed_solve({"--aim", "best"})));
  CHECK(std::holds_alternative<Farewell>(parsed_solve({"--weighting", "c"})));
}
