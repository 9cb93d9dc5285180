// SPDX-License-Identifier: GPL-3.0-or-later
// Fuzzes the reader of session.json: the facts stay the same when they are written and read again.
#include "documents/json_text.hpp"
#include "evenwall/files.hpp"
#include "evenwall/simulate.hpp"
#include "fuzz/fuzz_target.hpp"

using namespace evenwall;
using namespace evenwall::internal::documents;
using namespace evenwall::internal::storage;

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const Descriptor file = fuzz::file_of(fuzz::text_of(data, size));
  fuzz::refuses_or([&] {
    const SessionFile session = read_session_file(fuzz::path_of(file));
    const std::string written = json_line(json_of(session.facts));
    Warnings warnings;
    fuzz::require(json_line(json_of(facts_from_json(parse_json(written, "again"), {"again", ""}, warnings))) == written);
  });
  return 0;
}
