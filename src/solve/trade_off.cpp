// SPDX-License-Identifier: GPL-3.0-or-later
#include "solve/trade_off.hpp"

#include <algorithm>
#include <cmath>

#include "base/recording_name.hpp"
#include "solve/curves.hpp"
#include "solve/geometry.hpp"
#include "solve/method_constants.hpp"

namespace evenwall::internal::solve {
namespace {

/// Left over right, dB, as the levels of the left-only and the right-only band would show it at this tilt.
OptionalNumber balance_at_db(double psi_rad, const TiltAccount& account, const Balance& balance) {
  if (!balance.from_levels_db && !balance.from_tilt_response_db) return std::nullopt;
  const Response r = response_at(psi_rad, account.shape());
  return account.common[kLnGain] * kDbPerNeper + decibels(std::abs(r.left_from_left.value) / std::abs(r.right_from_right.value));
}

/// A difference of numbers that are nearly equal where a criterion is met. Its further digits are rounding, which depends on the processor.
double settled(double difference) { return std::round(difference * 1e9) / 1e9 + 0.0; }

/// Builds the rows of one solution.
class CandidateRows {
 public:
  CandidateRows(const Solution& solution, bool phases_known, const TiltAccount& account, const BandFit* band)
      : solution_(solution), phases_known_(phases_known), account_(account), band_(band) {
    // The fit counts on the record as it is cut, and a corrected answer on a record without that error.
    if (solution.options.record_correction) cut_error_deg_ = solution.options.record_correction->cut_error_deg;
  }

  void add(Candidate name, const OptionalNumber& tilt_deg, const OptionalNumber& u_deg) {
    if (!tilt_deg) return;
    const double fitted_deg = *tilt_deg + cut_error_deg_;
    const double psi_rad = account_.psi_rad(radians(fitted_deg));
    const OwnLeaks leaks = own_leaks(psi_rad, account_.shape());
    const LeakLevels levels = leak_levels(fitted_deg, account_);
    TradeOffRow row;
    row.name = name;
    row.tilt_deg = *tilt_deg;
    row.u_deg = u_deg;
    row.right_into_left_db = levels.right_into_left.db;
    row.left_into_right_db = levels.left_into_right.db;
    row.difference_db = settled(row.right_into_left_db - row.left_into_right_db);
    row.total_db = rms_crosstalk_db(fitted_deg, account_);
    if (phases_known_) row.phase_difference_deg = settled(degrees(std::arg(leaks.right_into_left * std::conj(leaks.left_into_right))));
    row.balance_db = balance_at_db(psi_rad, account_, solution_.balance);
    if (band_ != nullptr) row.band_total_db = band_total_db(radians(*tilt_deg - solution_.least_crosstalk.tilt_deg), *band_);
    rows.push_back(row);
  }

  std::vector<TradeOffRow> rows;

 private:
  const Solution& solution_;
  bool phases_known_;
  const TiltAccount& account_;
  const BandFit* band_;
  double cut_error_deg_ = 0;
};

/// The tilt at which the crosstalk shows the cartridge as it was found.
const SolvedStep* step_as_found(const Solution& solution) {
  if (!solution.as_found) return nullptr;
  const auto at = std::find_if(solution.steps.begin(), solution.steps.end(),
                               [&](const SolvedStep& step) { return !step.used && base::same_part(step, *solution.as_found); });
  return at == solution.steps.end() ? nullptr : &*at;
}

BandCriterion equal_over(const BandFit& band, const CriterionTilt& single) {
  BandCriterion equal;
  const auto root = band_root(CriterionKind::kEqual, band);
  if (!root) {
    equal.why = "it cannot be determined, because the sums of the two directions are not equal within 6° of least crosstalk over the band";
    return equal;
  }
  const double half_deg = coverage_factor95(0) * degrees(std::sqrt(root->variance_rad2));
  if (half_deg > kWidestOffset_deg) {
    equal.why = "it is not determined well enough, because azimuth changes the difference between the two directions by too little";
    return equal;
  }
  const CriterionTilt tilt = band_tilt(*root, band, single);
  equal.determined = true;
  equal.tilt_deg = tilt.tilt_deg;
  equal.u_deg = tilt.u_deg;
  equal.interval95_deg = tilt.interval95_deg;
  return equal;
}

}  // namespace

BandResult band_result(const BandFit& band, const BandRoot& least, const CriterionTilt& single, double recommended_deg,
                       Weighting weighting) {
  BandResult result;
  result.from_hz = band.points.front().frequency_hz;
  result.to_hz = band.points.back().frequency_hz;
  result.weighting = weighting;
  result.frequencies = static_cast<int>(band.points.size());
  const CriterionTilt tilt = band_tilt(least, band, single);
  result.least = {true, tilt.tilt_deg, tilt.u_deg, tilt.interval95_deg, std::nullopt};
  result.equal = equal_over(band, single);
  result.least_from_single_deg = degrees(least.offset_rad);
  result.u_least_from_single_deg = u_from_single_deg(least, band);
  const double recommended_rad = radians(recommended_deg - single.tilt_deg);
  result.total_db_at.recommended = band_total_db(recommended_rad, band);
  result.total_db_at.band_least = band_total_db(least.offset_rad, band);
  const auto total_there = [&](const BandPoint& a, const BandPoint& b) {
    return total_db_at(recommended_rad, a) < total_db_at(recommended_rad, b);
  };
  const BandPoint& worst = *std::max_element(band.points.begin(), band.points.end(), total_there);
  result.worst.frequency_hz = worst.frequency_hz;
  result.worst.db_at_recommended = total_db_at(recommended_rad, worst);
  result.worst.db_at_band_least = total_db_at(least.offset_rad, worst);
  return result;
}

std::vector<TradeOffRow> trade_off_of(const Solution& solution, const JointFit& joint, const TiltAccount& account, const BandFit* band) {
  CandidateRows rows(solution, !joint.sizes_only, account, band);
  rows.add(Candidate::kEqual, solution.equal_crosstalk.tilt_deg, solution.equal_crosstalk.u_deg);
  rows.add(Candidate::kLeast, solution.least_crosstalk.tilt_deg, solution.least_crosstalk.u_deg);
  rows.add(Candidate::kPhase, solution.phase_match.tilt_deg, solution.phase_match.u_deg);
  if (solution.band) {
    rows.add(Candidate::kBandLeast, solution.band->least.tilt_deg, solution.band->least.u_deg);
    rows.add(Candidate::kBandEqual, solution.band->equal.tilt_deg, solution.band->equal.u_deg);
  }
  if (solution.contact.inside == false) rows.add(Candidate::kContactLimit, solution.contact.best_inside_deg, std::nullopt);
  if (const SolvedStep* found = step_as_found(solution)) rows.add(Candidate::kAsFound, found->tilt_from_signal_deg, found->u_audit_deg);
  if (const auto& nearest = solution.nearest_setting) rows.add(Candidate::kNearestSetting, nearest->tilt_deg, std::nullopt);
  rows.add(Candidate::kRecommended, solution.recommended.tilt_deg, solution.recommended.u_deg);
  return rows.rows;
}

}  // namespace evenwall::internal::solve
