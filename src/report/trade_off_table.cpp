// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/trade_off_table.hpp"

#include <fmt/format.h>

#include <utility>
#include <vector>

#include "report/number_format.hpp"
#include "report/solution_words.hpp"

namespace evenwall::internal::report {

FixedWords candidate_words(Candidate name) {
  switch (name) {
    case Candidate::kEqual:
      return "equal";
    case Candidate::kLeast:
      return "least";
    case Candidate::kPhase:
      return "phase match";
    case Candidate::kBandLeast:
      return "band, least";
    case Candidate::kBandEqual:
      return "band, equal";
    case Candidate::kContactLimit:
      return "contact limit";
    case Candidate::kAsFound:
      return "as found";
    case Candidate::kNearestSetting:
      return "reachable";
    case Candidate::kRecommended:
      return "recommended";
  }
  return "";
}

TextTable trade_off_table(const Solution& solution) {
  TextTable table{{{"choice", "azimuth", "R into L", "L into R", "total", "phase", "balance"}}};
  if (solution.band) table.rows.front().emplace_back("band");
  for (const TradeOffRow& row : solution.trade_off) {
    std::vector<std::string> cells{
        candidate_words(row.name).text,        degrees_text(row.tilt_deg, 3),
        decibels_text(row.right_into_left_db), decibels_text(row.left_into_right_db),
        decibels_text(row.total_db),           row.phase_difference_deg ? degrees_text(*row.phase_difference_deg, 0) : "",
        balance_text(row.balance_db)};
    if (solution.band) cells.push_back(row.band_total_db ? decibels_text(*row.band_total_db) : "");
    table.rows.push_back(std::move(cells));
  }
  return table;
}

std::string trade_off_sentence(const Solution& solution) {
  std::string text =
      "The levels are those that the fit predicts at each azimuth. Total: both directions together (mean square). Phase: right into left "
      "minus "
      "left into right.";
  if (!solution.band) return text;
  const BandResult& band = *solution.band;
  text += fmt::format(
      " Band: the total over {} frequencies from {:.0f} to {:.0f} Hz, {}. Its least crosstalk lies at {} (95 % interval {}), {} (u {}) "
      "from "
      "that at {:.0f} Hz.",
      band.frequencies, band.from_hz, band.to_hz, band.weighting == Weighting::kA ? "A-weighted" : "all weighted alike",
      degrees_text(*band.least.tilt_deg, 3), interval_text(*band.least.interval95_deg, *band.least.u_deg),
      degrees_text(band.least_from_single_deg, 3), uncertainty_text(band.u_least_from_single_deg) + "°", solution.frequency_hz);
  return text + fmt::format(" At {:.0f} Hz the total is highest: {} at the recommended azimuth, and {} at the band's least crosstalk.",
                            band.worst.frequency_hz, decibels_text(band.worst.db_at_recommended),
                            decibels_text(band.worst.db_at_band_least));
}

}  // namespace evenwall::internal::report
