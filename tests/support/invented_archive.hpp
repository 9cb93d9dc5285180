// SPDX-License-Identifier: GPL-3.0-or-later
// Makes an archive of our own invention with known true values.
#pragma once

#include <random>
#include <string>
#include <vector>

#include "evenwall/model.hpp"

struct InventedArchive {
  std::vector<evenwall::ArchivedSolution> solutions;
  std::vector<double> cartridge_deg;  ///< relative to the mean
  std::vector<double> record_deg;     ///< cutting-azimuth errors; their mean is zero
  double mean_deg = 0.2;
};

inline evenwall::ArchivedSolution archived_tilt(const std::string& cartridge, const std::string& record, double tilt_deg) {
  evenwall::ArchivedSolution s;
  s.name = cartridge + " on " + record;
  s.cartridge = cartridge;
  s.record = record;
  s.least_crosstalk_deg = tilt_deg;
  return s;
}

/// Puts each cartridge on `each` consecutive records. Standard deviations: cartridges 0.4°, records 0.1°.
inline InventedArchive invented_archive(int cartridges, int records, int each, double error_deg, unsigned seed) {
  std::mt19937_64 random(seed);
  std::normal_distribution<double> normal;
  InventedArchive a;
  double middle = 0;
  for (int j = 0; j < records; ++j) a.record_deg.push_back(0.1 * normal(random)), middle += a.record_deg.back() / records;
  for (double& cut : a.record_deg) cut -= middle;
  for (int i = 0; i < cartridges; ++i) {
    a.cartridge_deg.push_back(0.4 * normal(random));
    for (int k = 0; k < each; ++k) {
      const int j = (i + k) % records;
      const double tilt = a.mean_deg + a.cartridge_deg.back() + a.record_deg[static_cast<std::size_t>(j)] + error_deg * normal(random);
      a.solutions.push_back(archived_tilt("C" + std::to_string(100 + i), "R" + std::to_string(10 + j), tilt));
    }
  }
  return a;
}
