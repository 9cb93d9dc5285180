// SPDX-License-Identifier: GPL-3.0-or-later
// Names the members of the parts of evenwall/solution/1 that state the band, the trade-off and what an adjuster can reach.
#pragma once

#include "documents/json_values.hpp"

namespace evenwall::internal::documents {

template <typename Field>
void describe(Field& field, Like<BandCriterion>) {
  field("determined", &BandCriterion::determined);
  field("tilt_deg", &BandCriterion::tilt_deg);
  field("u_deg", &BandCriterion::u_deg);
  field("interval95_deg", &BandCriterion::interval95_deg);
  field("why", &BandCriterion::why);
}

template <typename Field>
void describe(Field& field, Like<BandTotals>) {
  field("recommended", &BandTotals::recommended);
  field("band_least", &BandTotals::band_least);
}

template <typename Field>
void describe(Field& field, Like<WorstFrequency>) {
  field("frequency_hz", &WorstFrequency::frequency_hz);
  field("db_at_recommended", &WorstFrequency::db_at_recommended);
  field("db_at_band_least", &WorstFrequency::db_at_band_least);
}

template <typename Field>
void describe(Field& field, Like<NearestSetting>) {
  field("setting", &NearestSetting::setting);
  field("tilt_deg", &NearestSetting::tilt_deg);
  field("from_recommended_deg", &NearestSetting::from_recommended_deg);
  field("cost_db", &NearestSetting::cost_db);
}

template <typename Field>
void describe(Field& field, Like<BandResult>) {
  field("from_hz", &BandResult::from_hz);
  field("to_hz", &BandResult::to_hz);
  field("weighting", &BandResult::weighting);
  field("frequencies", &BandResult::frequencies);
  field("least", &BandResult::least);
  field("equal", &BandResult::equal);
  field("least_from_single_deg", &BandResult::least_from_single_deg);
  field("u_least_from_single_deg", &BandResult::u_least_from_single_deg);
  field("total_db_at", &BandResult::total_db_at);
  field("worst", &BandResult::worst);
}

template <typename Field>
void describe(Field& field, Like<TradeOffRow>) {
  field("name", &TradeOffRow::name);
  field("tilt_deg", &TradeOffRow::tilt_deg);
  field("u_deg", &TradeOffRow::u_deg);
  field("right_into_left_db", &TradeOffRow::right_into_left_db);
  field("left_into_right_db", &TradeOffRow::left_into_right_db);
  field("difference_db", &TradeOffRow::difference_db);
  field("total_db", &TradeOffRow::total_db);
  field("phase_difference_deg", &TradeOffRow::phase_difference_deg);
  field("balance_db", &TradeOffRow::balance_db);
  field("band_total_db", &TradeOffRow::band_total_db);
}

template <typename Field>
void describe(Field& field, Like<BandLimits>) {
  field("from_hz", &BandLimits::from_hz);
  field("to_hz", &BandLimits::to_hz);
}

}  // namespace evenwall::internal::documents
