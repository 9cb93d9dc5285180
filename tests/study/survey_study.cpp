// SPDX-License-Identifier: GPL-3.0-or-later
// Counts how often a survey's 95 % intervals hold the true value, over random archives: figures of docs/accuracy.md.
// Usage: study_survey [archives per cell]. The exit status is 1 if a cell leaves its bounds.
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <random>

#include "evenwall/survey.hpp"

using namespace evenwall;

namespace {

struct Cell {
  int records, cartridges, each;  ///< each: number of records on which a cartridge is solved
  double u_cartridge, u_record, u_error;
};

struct Tally {
  int archives = 0, mean = 0, tilts = 0, tilts_held = 0, cuts = 0, cuts_held = 0;
};

bool holds(const std::optional<Interval>& interval, double x) { return interval && (*interval)[0] <= x && x <= (*interval)[1]; }

void run_one(const Cell& cell, std::mt19937_64& random, Tally& tally) {
  std::normal_distribution<double> normal;
  const double mean = 0.2;
  std::vector<double> a, b;
  for (int i = 0; i < cell.cartridges; ++i) a.push_back(cell.u_cartridge * normal(random));
  double middle = 0;
  for (int j = 0; j < cell.records; ++j) b.push_back(cell.u_record * normal(random)), middle += b.back() / cell.records;
  std::vector<ArchivedSolution> archive;
  for (int i = 0; i < cell.cartridges; ++i) {
    const int start = static_cast<int>(random() % static_cast<unsigned>(cell.records));
    for (int k = 0; k < cell.each; ++k) {
      const int j = (start + k) % cell.records;
      ArchivedSolution s;
      s.name = std::to_string(archive.size());
      s.cartridge = std::to_string(1000 + i);
      s.record = std::to_string(1000 + j);
      s.least_crosstalk_deg = mean + a[static_cast<std::size_t>(i)] + b[static_cast<std::size_t>(j)] + cell.u_error * normal(random);
      archive.push_back(s);
    }
  }
  const Survey s = survey(archive, {});
  ++tally.archives;
  tally.mean += holds(s.interval95_mean_deg, mean) ? 1 : 0;
  for (const SurveyedCartridge& c : s.cartridges) {
    ++tally.tilts;
    tally.tilts_held += holds(c.interval95_deg, mean + a[static_cast<std::size_t>(std::stoi(c.name) - 1000)]) ? 1 : 0;
  }
  // If the survey has every record, the records' mean is that of `b`.
  if (static_cast<int>(s.records.size()) != cell.records || !s.records[0].cut_error_deg) return;
  for (const SurveyedRecord& r : s.records) {
    ++tally.cuts;
    tally.cuts_held += holds(r.interval95_deg, b[static_cast<std::size_t>(std::stoi(r.name) - 1000)] - middle) ? 1 : 0;
  }
}

double percent(int part, int whole) { return whole > 0 ? 100.0 * part / whole : 0.0; }

bool within(const Cell& cell, double value, int archives) {
  const double slack = 3 * 100 * std::sqrt(0.05 * 0.95 / archives);  // three standard errors of a share
  return value >= (cell.records >= 8 ? 93 : 92) - slack && (cell.records < 8 || value <= 97 + slack);
}

}  // namespace

int main(int argc, char** argv) {
  const int archives = argc > 1 ? std::atoi(argv[1]) : 1000;
  // First few records, with a spread of records well above, near and below the error; then eight records and more.
  const Cell cells[] = {
      {2, 20, 2, 0.4, 0.1, 0.03},  {2, 60, 2, 0.4, 0.1, 0.03},  {2, 20, 2, 0.4, 0.03, 0.03}, {3, 60, 2, 0.4, 0.1, 0.03},
      {3, 60, 2, 0.4, 0.02, 0.03}, {3, 8, 2, 0.1, 0.1, 0.1},    {4, 20, 2, 0.3, 0.0, 0.05},  {4, 60, 2, 0.4, 0.05, 0.03},
      {5, 12, 3, 0.3, 0.2, 0.05},  {6, 30, 2, 0.4, 0.02, 0.05}, {8, 20, 3, 0.4, 0.1, 0.03},  {8, 40, 2, 0.3, 0.05, 0.05},
      {8, 24, 4, 0.2, 0.3, 0.1},   {12, 60, 3, 0.4, 0.1, 0.03}, {12, 30, 4, 0.2, 0.2, 0.1},  {20, 100, 3, 0.3, 0.1, 0.05}};
  std::printf("records cartridges each  u: cartridge record error   mean %%  cartridges %%  cutting-azimuth errors %%   (seed 1)\n");
  std::mt19937_64 random(1);
  bool good = true;
  for (const Cell& cell : cells) {
    Tally t;
    for (int n = 0; n < archives; ++n) run_one(cell, random, t);
    const double mean = percent(t.mean, t.archives), tilts = percent(t.tilts_held, t.tilts), cuts = percent(t.cuts_held, t.cuts);
    const bool ok = within(cell, mean, archives) && within(cell, tilts, archives) && within(cell, cuts, archives);
    std::printf("%7d %10d %4d  %12.2f %6.2f %5.2f  %7.1f  %12.1f  %24.1f%s\n", cell.records, cell.cartridges, cell.each, cell.u_cartridge,
                cell.u_record, cell.u_error, mean, tilts, cuts, ok ? "" : "  OUT OF BOUNDS");
    good = good && ok;
  }
  return good ? 0 : 1;
}
