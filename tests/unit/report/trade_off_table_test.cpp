// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/trade_off_table.hpp"

#include "evenwall/words.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

namespace {

using Row = std::vector<std::string>;

}  // namespace

TEST_CASE("Each choice of the azimuth has a row, and the band's total has a column if there is a band") {
  Solution s = example_solution();
  s.trade_off = {{Candidate::kEqual, 0.5, 0.01, -30, -30, 0, -30, 12.0, 0.25, std::nullopt}};
  CHECK(trade_off_table(s).rows.at(0) == Row{"choice", "azimuth", "R into L", "L into R", "total", "phase", "balance"});
  CHECK(trade_off_table(s).rows.at(1) == Row{"equal", "+0.500°", "-30.0 dB", "-30.0 dB", "-30.0 dB", "+12°", "+0.25 dB"});
  s.band.emplace();
  s.band->least = {true, 0.7, 0.02, Interval{0.66, 0.74}, std::nullopt};
  s.trade_off[0].name = Candidate::kContactLimit;
  s.trade_off[0].phase_difference_deg.reset();
  s.trade_off[0].band_total_db = -28.5;
  CHECK(trade_off_table(s).rows.at(0).back() == "band");
  CHECK(trade_off_table(s).rows.at(1) == Row{"contact limit", "+0.500°", "-30.0 dB", "-30.0 dB", "-30.0 dB", "", "+0.25 dB", "-28.5 dB"});
}

TEST_CASE("The sentence below the table states the band, its least crosstalk and its worst frequency") {
  Solution s = example_solution();
  CHECK_FALSE(holds(trade_off_sentence(s), "Band:"));
  s.band.emplace();
  s.band->from_hz = 100;
  s.band->to_hz = 10000;
  s.band->weighting = Weighting::kA;
  s.band->frequencies = 21;
  s.band->least = {true, 0.7, 0.02, Interval{0.66, 0.74}, std::nullopt};
  s.band->least_from_single_deg = -0.4;
  s.band->u_least_from_single_deg = 0.003;
  s.band->worst = {8000, -20, -24};
  const std::string text = trade_off_sentence(s);
  for (const char* part :
       {"21 frequencies from 100 to 10000 Hz, A-weighted", "+0.700°", "-0.400° (u 0.0030°)", "At 8000 Hz", "-20.0 dB", "-24.0 dB"}) {
    INFO(part);
    CHECK(holds(text, part));
  }
}

TEST_CASE("Each choice has words of its own") {
  std::vector<std::string> words;
  for (const auto& [candidate, name] : evenwall::kNamesOf<Candidate>) words.emplace_back(candidate_words(candidate).text);
  CHECK(words.size() == 9);
  std::sort(words.begin(), words.end());
  CHECK(std::adjacent_find(words.begin(), words.end()) == words.end());
  CHECK(words.front() != "");
}
