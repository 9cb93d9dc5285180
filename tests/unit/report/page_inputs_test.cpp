// SPDX-License-Identifier: GPL-3.0-or-later
#include "report/page_inputs.hpp"

#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/survey_example.hpp"
#include "unit/report/solution_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::report;

TEST_CASE("The table of inputs lists only what the document contains") {
  Solution s = example_solution();
  s.session.gauge_u_deg = 0.05;
  s.session.stylus = Stylus{"line contact", 77, 2.25, -0.125};
  s.session.frequency_hz = 315;
  s.session.electronics_crosstalk_db = -62.5;
  s.options.record_correction = RecordCorrection{"archive.json", "T1, side A", 0.125, 0.04};
  std::string all;
  for (const auto& row : inputs_table(s).rows) {
    for (const auto& cell : row) all += cell + "\n";
  }
  for (const char* shown : {"0.05", "line contact", "77 µm", "2.25°", "-0.125°", "315 Hz", "-62.5 dB",
                            "0.125° (standard uncertainty 0.04°), of T1, side A in archive.json"})
    CHECK(holds(all, shown));
  CHECK(holds(all, "made by"));
  CHECK_FALSE(holds(all, "rpm"));
}

TEST_CASE("The table of inputs of a survey shows the program, the solutions used and their dates") {
  Survey s = example_survey();
  s.made_by = MadeBy{"evenwall", "7.8.9", 3};
  std::string all;
  for (const auto& row : survey_inputs_table(s).rows) all += row[0] + ": " + row[1] + "\n";
  for (const char* line : {"made by: evenwall 7.8.9, method version 3", "solutions in the fit: 6", "solutions excluded as contradicted: 1",
                           "dates of the solutions: 2024-05-01 to 2026-02-03", "grouped by: cartridge_model"})
    CHECK(holds(all, line));
}
