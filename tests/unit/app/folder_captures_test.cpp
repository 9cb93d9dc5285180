// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/folder_captures.hpp"

#include <filesystem>
#include <fstream>

#include "evenwall/error.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

TEST_CASE("numbers in names are compared as numbers") {
  CHECK(named_before("take-9.wav", "take-10.wav"));
  CHECK_FALSE(named_before("take-10.wav", "take-9.wav"));
  CHECK(named_before("take-010.wav", "take-11.wav"));
  CHECK(named_before("a2b3", "a2b10"));
  CHECK(named_before("a", "a1"));
  CHECK(named_before("2.wav", "a.wav"));
  CHECK_FALSE(named_before("same", "same"));
  CHECK(named_before("a01", "a1") != named_before("a1", "a01"));
  CHECK(named_before("0", "1"));
}

TEST_CASE("the audio files of a folder are listed, and nothing else") {
  const TempFolder folder;
  for (const char* name : {"b-10.wav", "b-9.WAV", "a.flac", "c.aiff", "d.w64", ".hidden.wav", "notes.txt", "session.json", "wav"})
    std::ofstream(folder / name) << "x";
  std::filesystem::create_directory(folder / "folder.wav");
  CHECK(captures_in(folder.path()) == std::vector<std::string>{"a.flac", "b-9.WAV", "b-10.wav", "c.aiff", "d.w64"});
  CHECK_THROWS_AS(captures_in(folder / "missing"), Error);
}

TEST_CASE("recordings are recognised by their names") {
  for (const char* name : {"a.wav", "B.WAV", "c.flac", "d.aiff", "e.AIF", "f.aifc", "g.w64", "h.rf64", "i.j.wav"})
    CHECK(is_capture_name(name));
  for (const char* name : {"", ".wav", ".a.wav", "wav", "a.wav.part", "steps.csv", "a.mp3", "a.wav~"}) CHECK_FALSE(is_capture_name(name));
}
