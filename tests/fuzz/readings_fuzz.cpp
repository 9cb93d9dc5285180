// SPDX-License-Identifier: GPL-3.0-or-later
// Fuzzes the reader of readings, one per line: a reading stays the same when it is written and read again, and all of them together are
// solved or refused.
#include "app/session_input.hpp"
#include "evenwall/files.hpp"
#include "evenwall/solve.hpp"
#include "fuzz/fuzz_target.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::refuses_or([&] {
    std::vector<Reading> readings = readings_from_jsonl(fuzz::text_of(data, size), "fuzz");
    for (const Reading& reading : readings) {
      const std::string written = to_json(reading);
      const std::vector<Reading> again = readings_from_jsonl(written, "again");
      fuzz::require(again.size() == 1 && to_json(again[0]) == written);
    }
    const Solution solution = solve(session_of_readings(std::move(readings)), {});
    fuzz::require(solution_from_json(to_json(solution), "again").steps.size() == solution.steps.size());
  });
  return 0;
}
