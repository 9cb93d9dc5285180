// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/nearest_file.hpp"

#include <filesystem>

#include "evenwall/text_files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::storage;

TEST_CASE("The nearest name in the folder of a missing file is suggested") {
  const TempFolder folder;
  folder.write("Upright.WAV", "x");
  folder.write("plus-two.wav", "x");
  CHECK(nearest_file_sentence(folder / "upright.wav") == " The nearest name in its folder is Upright.WAV.");
  CHECK(nearest_file_sentence(folder / "plus_two.wav") == " The nearest name in its folder is plus-two.wav.");
  CHECK(nearest_file_sentence(folder / "plus-two") == " The nearest name in its folder is plus-two.wav.");
  CHECK(nearest_file_sentence(folder / "lateral.flac").empty());
  CHECK(nearest_file_sentence(folder / "plus-two.wav").empty());
  CHECK(nearest_file_sentence(folder / "no/such/plus-two.wav").empty());
  CHECK(nearest_file_sentence("").empty());
}

TEST_CASE("A name that a terminal would act on is shown escaped, and a broken link suggests nothing") {
  const TempFolder folder;
  folder.write("ste\x1bp.wav", "x");
  CHECK(nearest_file_sentence(folder / "step.wav") == " The nearest name in its folder is ste\\x1Bp.wav.");
  std::filesystem::create_symlink("gone.wav", folder / "link.wav");
  CHECK(nearest_file_sentence(folder / "link.wav").empty());
}

TEST_CASE("A missing text file suggests the nearest name in its message") {
  const TempFolder folder;
  folder.write("readings.jsonl", "{}");
  CHECK(holds(refusal_of([&] { read_text(folder / "reading.jsonl", 1000); }), "The nearest name in its folder is readings.jsonl."));
  CHECK_FALSE(holds(refusal_of([&] { read_text(folder / "solution.json", 1000); }), "nearest"));
}
