// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/survey_csv.hpp"

#include <algorithm>

#include "support/catch.hpp"
#include "support/survey_example.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

TEST_CASE("The CSV table of a survey has a row for each cartridge, record, group and bad solution") {
  Survey survey = example_survey();
  survey.cartridges[1].name = "=cmd()";
  const std::string csv = survey_csv(survey);
  CHECK(csv.find("\ncartridge,Larkspur 1,,0.75,0.08,0.53,0.97,4.2,3,,\n") != std::string::npos);
  CHECK(csv.find("\nequal_crosstalk,Larkspur 1,\"T1, side A\",,,,,,1,0.8,\n") != std::string::npos);
  CHECK(csv.find("\nrecord,\"T1, side A\",\"T1, side A\",-0.08,0.02,-0.125,-0.035,9,4,,\n") != std::string::npos);
  CHECK(csv.find("\ngroup,Larkspur,,0.25,0.3,-0.4,0.9,,6,,\n") != std::string::npos);
  CHECK(csv.find("\nbad_solution,archive/x.json,T2,3.1,,,,,1,,31.5\n") != std::string::npos);
  CHECK(csv.find("\ncartridge,'=cmd(),") != std::string::npos);
  CHECK(std::count(csv.begin(), csv.end(), '\n') == 10);  // header, mean, 2 cartridges, 2 equal-crosstalk, 2 records, group, bad solution
}
