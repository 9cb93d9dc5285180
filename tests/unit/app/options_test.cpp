// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/options.hpp"

#include "support/catch.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

CommandLine parsed(std::vector<const char*> words) {
  words.insert(words.begin(), "evenwall");
  return parse_command_line(static_cast<int>(words.size()), words.data());
}

void check_refused(std::vector<const char*> words) {
  CAPTURE(words.back());
  const auto told = parsed(std::move(words));
  REQUIRE(std::holds_alternative<Farewell>(told));
  CHECK(std::get<Farewell>(told).exit_status == kExitUsage);
  CHECK(std::get<Farewell>(told).out.empty());
  CHECK(std::get<Farewell>(told).complaint.find('\n') == std::string::npos);
  CHECK_FALSE(std::get<Farewell>(told).complaint.empty());
}

}  // namespace

TEST_CASE("measure takes captures, tilt, use and bands") {
  const auto told = parsed({"measure", "a.wav", "-", "--tilt-deg", "-1.5", "--tilt-u", "0.02", "--use", "as_found", "--bands",
                            "left,right,vertical", "--jobs", "3", "--json", "--append", "log.jsonl", "--rejected"});
  REQUIRE(std::holds_alternative<MeasureCommand>(told));
  const auto& m = std::get<MeasureCommand>(told);
  CHECK(m.captures == std::vector<std::string>{"a.wav", "-"});
  CHECK(m.tilt_deg == -1.5);
  CHECK_FALSE(m.tilt_units);
  CHECK(m.tilt_u == 0.02);
  CHECK(m.use == StepUse::kAsFound);
  CHECK(m.bands == std::vector<Band>{Band::kLeft, Band::kRight, Band::kVertical});
  CHECK(m.jobs == 3);
  CHECK(m.common.json);
  CHECK(m.append_path == "log.jsonl");
  CHECK(m.rejected);
  CHECK_FALSE(m.sha256);
}

TEST_CASE("measure takes a name and a file for standard input, and a request for rows") {
  const auto m = std::get<MeasureCommand>(parsed({"measure", "-", "--name", "side A", "--keep", "a.wav"}));
  CHECK(m.name == "side A");
  CHECK(m.keep_path == "a.wav");
  CHECK_FALSE(m.split);
  CHECK(std::get<MeasureCommand>(parsed({"measure", "a.wav", "--split"})).split);
  CHECK(std::get<MeasureCommand>(parsed({"measure", "a.wav", "--sha256"})).sha256);
  check_refused({"measure", "a.wav", "--split", "--sha256"});
  check_refused({"measure", "a.wav", "--name", "side A"});
  check_refused({"measure", "-", "--name", ""});
  check_refused({"measure", "a.wav", "--keep", "b.wav"});
  check_refused({"measure", "a.wav", "--split", "--json"});
  check_refused({"measure", "a.wav", "--split", "--append", "b.jsonl"});
}

TEST_CASE("an option that is not given has no value or its default value") {
  const auto m = std::get<MeasureCommand>(parsed({"measure", "a.wav"}));
  CHECK_FALSE(m.tilt_deg);
  CHECK_FALSE(m.rpm);
  CHECK(m.use == StepUse::kYes);
  CHECK_FALSE(m.common.output);
  CHECK_FALSE(m.common.strict);
}

TEST_CASE("solve takes inputs, stated uncertainties and a view") {
  const auto told =
      parsed({"solve", "s", "--gauge-u", "0.05", "--record-u=0.2", "--from-tilt", "+1", "--chart", "-o", "x.txt", "--strict"});
  REQUIRE(std::holds_alternative<SolveCommand>(told));
  const auto& s = std::get<SolveCommand>(told);
  CHECK(s.options.gauge_u_deg == 0.05);
  CHECK(s.options.record_u_deg == 0.2);
  CHECK(s.options.from_tilt_deg == 1.0);
  CHECK(s.view == SolutionView::kFullWithChart);
  CHECK(s.common.output == "x.txt");
  CHECK(s.common.strict);
  CHECK(std::get<SolveCommand>(parsed({"solve", "s", "--json"})).view == SolutionView::kJson);
  CHECK(std::get<SolveCommand>(parsed({"solve", "s", "--csv"})).view == SolutionView::kCsv);
}

TEST_CASE("solve takes the name of a calibration file without reading the file") {
  const auto s = std::get<SolveCommand>(parsed({"solve", "s", "--calibration", "no/such.json"}));
  CHECK(s.options.calibration_path == "no/such.json");
  CHECK_FALSE(s.options.calibration);
  CHECK_FALSE(std::get<SolveCommand>(parsed({"solve", "s"})).options.calibration_path);
}

TEST_CASE("calibrate takes captures and an output") {
  const auto told = parsed({"calibrate", "left.wav", "-", "-o", "e.json", "--jobs", "2", "--strict", "--json", "--quiet"});
  REQUIRE(std::holds_alternative<CalibrateCommand>(told));
  const auto& c = std::get<CalibrateCommand>(told);
  CHECK(c.captures == std::vector<std::string>{"left.wav", "-"});
  CHECK(c.common.output == "e.json");
  CHECK(c.jobs == 2);
  CHECK((c.common.strict && c.common.json && c.common.quiet));
}

TEST_CASE("the name of the output of measure and survey chooses a document") {
  const auto as_json = [](const char* output) { return std::get<MeasureCommand>(parsed({"measure", "a.wav", "-o", output})).as_json; };
  CHECK((as_json("a.json") && as_json("a.jsonl")));
  CHECK_FALSE((as_json("a.txt") || as_json("-")));
  CHECK(std::get<MeasureCommand>(parsed({"measure", "a.wav", "--json"})).as_json);
  CHECK_FALSE(std::get<MeasureCommand>(parsed({"measure", "a.wav", "--split", "-o", "a.json"})).as_json);
  const auto view = [](const char* output) { return std::get<SurveyCommand>(parsed({"survey", "a.json", "-o", output})).view; };
  CHECK(view("s.json") == SurveyView::kJson);
  CHECK(view("s.csv") == SurveyView::kCsv);
  CHECK(view("s.txt") == SurveyView::kText);
}

TEST_CASE("simulate takes a scenario, a seed of 64 bits and a folder") {
  const auto told = parsed({"simulate", "--scenario", "s.json", "--seed", "18446744073709551615", "-o", "f"});
  REQUIRE(std::holds_alternative<SimulateCommand>(told));
  CHECK(std::get<SimulateCommand>(told).seed == 18446744073709551615U);
  CHECK(std::get<SimulateCommand>(told).common.output == "f");
}

TEST_CASE("a name that begins with a dash is accepted after --") {
  CHECK(std::get<MeasureCommand>(parsed({"measure", "--", "-odd.wav"})).captures == std::vector<std::string>{"-odd.wav"});
}

TEST_CASE("wrong usage gives exit status 2 and a message of one line") {
  check_refused({"conjure"});
  check_refused({"report"});
  check_refused({"survey"});
  check_refused({"measure"});
  check_refused({"measure", "a", "--tilt-deg", "inf"});
  check_refused({"measure", "a", "--tilt-deg", "0x1"});
  check_refused({"measure", "a", "--tilt-deg", "1,5"});
  check_refused({"measure", "a", "--tilt-deg", "1.5deg"});
  check_refused({"measure", "a", "--tilt-deg", "400"});
  check_refused({"measure", "a", "--tilt-deg", "1", "--tilt-units", "1"});
  check_refused({"measure", "a", "--tilt-u", "1"});
  check_refused({"measure", "a", "--bands", "left,up"});
  check_refused({"measure", "-", "-"});
  check_refused({"calibrate"});
  check_refused({"calibrate", "-", "-"});
  check_refused({"calibrate", "a", "--frequency", "1000"});
  check_refused({"measure", "a", "--calibration", "e.json"});
  check_refused({"solve", "-", "-"});
  check_refused({"solve", "a", "--jobs", "1.5"});
  check_refused({"solve", "a", "--csv", "--json"});
  check_refused({"simulate", "--scenario", "s.json", "--seed", "-1", "-o", "f"});
}

TEST_CASE("help, version and an empty command line give a text and exit status 0") {
  for (const auto& words : {std::vector<const char*>{}, {"--help"}, {"solve", "--help"}, {"--version"}}) {
    const auto told = parsed(words);
    REQUIRE(std::holds_alternative<Farewell>(told));
    CHECK(std::get<Farewell>(told).exit_status == 0);
    CHECK_FALSE(std::get<Farewell>(told).out.empty());
    CHECK(std::get<Farewell>(told).complaint.empty());
  }
}

TEST_CASE("survey takes solutions, a key and a view, and writes JSON to a file named .json") {
  const auto s = std::get<SurveyCommand>(parsed({"survey", "archive", "x.json", "--by", "cartridge_model", "--csv"}));
  CHECK(s.inputs == std::vector<std::string>{"archive", "x.json"});
  CHECK(s.grouped_by == "cartridge_model");
  CHECK(s.view == SurveyView::kCsv);
  CHECK(std::get<SurveyCommand>(parsed({"survey", "a"})).view == SurveyView::kText);
  CHECK(std::get<SurveyCommand>(parsed({"survey", "a", "--json"})).view == SurveyView::kJson);
  CHECK(std::get<SurveyCommand>(parsed({"survey", "a", "-o", "s.json"})).view == SurveyView::kJson);
  CHECK(std::get<SurveyCommand>(parsed({"survey", "a", "-o", "s.txt"})).view == SurveyView::kText);
  check_refused({"survey"});
  check_refused({"survey", "a", "--csv", "--json"});
  check_refused({"survey", "-", "-"});
}

TEST_CASE("A record may be corrected by a survey or have a stated uncertainty, but not both") {
  CHECK(std::get<SolveCommand>(parsed({"solve", "s", "--record-correction", "a.json"})).record_correction_path == "a.json");
  check_refused({"solve", "s", "--record-correction", "a.json", "--record-u", "0.1"});
}
