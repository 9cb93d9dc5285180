// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/named_capture.hpp"

#include <filesystem>

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall::internal::app;

TEST_CASE("a name without its ending stands for the only recording that has it") {
  const TempFolder folder;
  for (const char* name : {"step-3.wav", "step.4.FLAC", "two.wav", "two.aiff", "bare", "bare.wav", "text.txt", ".hidden.wav"})
    folder.write(name, "x");
  std::filesystem::create_directory(folder / "takes");
  folder.write("takes/a.wav", "x");
  const NamedCaptures names(folder.path());
  CHECK(names.file_of("step-3") == "step-3.wav");
  CHECK(names.file_of("./step-3") == "./step-3.wav");
  CHECK(names.file_of("step.4") == "step.4.FLAC");
  CHECK(names.file_of("takes/a") == "takes/a.wav");
  CHECK(names.file_of((folder / "step-3").string()) == (folder / "step-3.wav").string());
}

TEST_CASE("other names are left as they are") {
  const TempFolder folder;
  for (const char* name : {"step-3.wav", "two.wav", "two.aiff", "bare", "bare.wav", "text.txt", ".hidden.wav"}) folder.write(name, "x");
  const NamedCaptures names(folder.path());
  for (const char* name : {"step-3.wav", "two", "bare", "text", ".hidden", "Step-3", "step", "missing/a", "-", "step-3/", ""})
    CHECK(names.file_of(name) == name);
  CHECK(NamedCaptures("").file_of("-") == "-");
}

TEST_CASE("a name that several recordings have is explained") {
  const TempFolder folder;
  for (const char* name : {"step-3.wav", "two.wav", "two.aiff", "bare", "bare.wav", "bare.flac"}) folder.write(name, "x");
  const NamedCaptures names(folder.path());
  CHECK(names.several_sentence("two") == " two.aiff and two.wav have this name. Write the ending in the log.");
  for (const char* name : {"step-3", "bare", "missing", ""}) CHECK(names.several_sentence(name).empty());
}
