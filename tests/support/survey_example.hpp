// SPDX-License-Identifier: GPL-3.0-or-later
// Makes a survey with every field set, from an archive of our own invention.
#pragma once

#include "evenwall/model.hpp"

inline evenwall::Survey example_survey() {
  using namespace evenwall;
  Survey s;
  s.mean_deg = 0.25;
  s.u_mean_deg = 0.09;
  s.mean_degrees_of_freedom = 4.5;
  s.interval95_mean_deg = Interval{0.01, 0.49};
  s.spread_deg = {0.4, 0.1, 0.03};
  s.u_records_mean_deg = 0.07;
  s.solutions = 6;
  s.cartridges = {{"Larkspur 1", 0.75, 0.08, 4.2, Interval{0.53, 0.97}, 3, {{"T1, side A", 0.8}, {std::nullopt, 0.7}}},
                  {"Larkspur 2", -0.25, 0.08, 4.2, Interval{-0.47, -0.03}, 3, {}}};
  s.records = {{"T1, side A", "T1", "A", -0.08, 0.02, 9.0, Interval{-0.125, -0.035}, 4, 1},
               {"T2", "T2", std::nullopt, 0.08, 0.02, 9.0, Interval{0.035, 0.125}, 2, 2}};
  s.drift = SurveyDrift{0.02, 0.01, {-0.004, 0.044}, 7.5, 0.08, 6, "2024-05-01", "2026-02-03"};
  s.grouped_by = "cartridge_model";
  s.groups = {{"Larkspur", 0.25, 0.3, Interval{-0.4, 0.9}, 0.5, 2, 6}};
  s.bad_solutions = {{"archive/x.json", "Larkspur 2", "T2", 3.1, -0.2, 31.5}};
  s.warnings = {{evenwall::WarningCode::kSolutionOff, "archive/x.json: 3.1 where -0.2 was expected"}};
  return s;
}
