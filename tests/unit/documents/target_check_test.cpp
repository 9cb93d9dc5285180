// SPDX-License-Identifier: GPL-3.0-or-later
#include "documents/target_check.hpp"

#include <fcntl.h>

#include "storage/descriptor.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::documents;
using namespace evenwall::internal::storage;

namespace {

std::string judged(const TempFolder& folder, const std::string& content) {
  folder.write("x", content);
  return refusal_of([&] { refuse_irreplaceable(folder / "x", "x"); });
}

std::string added(const TempFolder& folder, const std::string& content) {
  const Descriptor file(::open(folder.write("x", content).c_str(), O_RDONLY | O_CLOEXEC));
  return refusal_of([&] { refuse_unless_readings(file.get(), "x"); });
}

}  // namespace

TEST_CASE("a file with the name of a recording is refused as an output") {
  for (const char* name : {"a.wav", "A.WAV", "b/c.Flac", "x.y.aifc", "a.m4a"}) {
    CHECK(holds(refusal_of([&] { refuse_audio_name(name, name); }), "this is the name of a recording"));
  }
  for (const char* name : {"a.json", "wav", ".wav", "a.wav.json", "a.", "x.wavs"}) CHECK_NOTHROW(refuse_audio_name(name, name));
}

TEST_CASE("step logs and meter tables are recognised by their columns and refused, and tables that the program writes may be replaced") {
  const TempFolder folder;
  CHECK(holds(judged(folder, "capture,tilt_deg\n"), "a step log"));
  CHECK(holds(judged(folder, "\xef\xbb\xbf\"tilt_units\"; \"capture\"\r\n"), "a step log"));
  CHECK(holds(judged(folder, "\n# note\ntilt_deg\tright_into_left_db\tleft_into_right_db"), "a meter table"));
  for (const char* text : {"", "capture,tilt_deg,tilt_units,tilt_from_signal_deg,audit_deg\n", "kind,name,record,tilt_deg\n",
                           "a note, of captures\n", "{}", "{\"schema\":\"evenwall/solution/1\"}", "<!DOCTYPE html>",
                           "\xff\xfe"
                           "a"}) {
    CHECK(judged(folder, text) == "(nothing was refused)");
  }
}

TEST_CASE("documents that are written by hand and audio are refused as outputs") {
  const TempFolder folder;
  CHECK(holds(judged(folder, " {\n\"cartridge\": \"x\", \"schema\": \"evenwall/session/1\"}"), "a session"));
  CHECK(holds(judged(folder, "{\"schema\":\"evenwall/scenario/1\"}"), "a scenario"));
  CHECK(holds(judged(folder, "RIFF\x01"), "audio (WAV)"));
  CHECK(holds(judged(folder, "OggS"), "audio (Ogg)"));
  folder.write("session.json", "{\"cartridge\": ");
  CHECK(holds(refusal_of([&] { refuse_irreplaceable(folder / "session.json", "s"); }), "a session"));
}

TEST_CASE("a reading is added only to a file of readings or of the beginning of one") {
  const TempFolder folder;
  const std::string reading = "{\"schema\":\"evenwall/reading/1\"}\n";
  for (const std::string& text : {std::string(), std::string(" \n\n"), reading, "\n" + reading, "{\"sch\n" + reading, std::string("{"),
                                  std::string("{\"schema\":\"evenwall/reading/1\",\"capt")}) {
    CHECK(added(folder, text) == "(nothing was refused)");
  }
  for (const std::string& text : {std::string("{\n"), std::string("{\"a\":1}\n"), std::string("x"), "x\n" + reading,
                                  std::string("{\"schema\":\"evenwall/session/1\"}\n"), std::string(100000, '\n')}) {
    CHECK(holds(added(folder, text), "something other than readings"));
  }
}
