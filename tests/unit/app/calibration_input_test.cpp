// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/calibration_input.hpp"

#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

std::string document(double leak) { return to_json(Calibration{{{1000, {1, leak, 0, 1}, {0, 0}}}}); }

SessionFacts naming(const std::string& path) {
  SessionFacts facts;
  facts.calibration = path;
  return facts;
}

double leak_of(const SolveOptions& options) { return options.calibration.value().points.at(0).matrix[1].real(); }

}  // namespace

TEST_CASE("the path of a calibration is relative to the session that names it") {
  const TempFolder folder;
  const auto file = folder.write("e.json", document(0.25));
  const std::string session = file.parent_path().string();
  for (const std::string& input : {session, session + "/steps.csv", session + "/bench.jsonl"}) {
    const SolveOptions options = with_calibration({}, naming("e.json"), input);
    CHECK(leak_of(options) == 0.25);
    CHECK(options.calibration_path == "e.json");
  }
  CHECK(leak_of(with_calibration({}, naming(file.string()), "-")) == 0.25);
}

TEST_CASE("a calibration of the command line takes precedence, and without any calibration nothing is corrected") {
  SolveOptions told;
  told.calibration = calibration_from_json(document(0.5), "told");
  told.calibration_path = "told.json";
  const SolveOptions kept = with_calibration(told, naming("no/such.json"), "-");
  CHECK(leak_of(kept) == 0.5);
  CHECK(kept.calibration_path == "told.json");
  CHECK_FALSE(with_calibration({}, {}, "-").calibration);
}

TEST_CASE("a missing or wrong calibration file is refused, and the message names it") {
  const TempFolder folder;
  const auto file = folder.write("e.json", R"({"schema":"evenwall/reading/1"})");
  CHECK_THROWS_WITH(read_calibration(file), ContainsSubstring("e.json"));
  CHECK_THROWS_WITH(with_calibration({}, naming("absent.json"), file.parent_path().string()), ContainsSubstring("absent.json"));
}
