// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/capture_source.hpp"

#include "support/temp_folder.hpp"
#include "unit/audio/example_audio.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;
using namespace evenwall::internal::storage;

TEST_CASE("WAV, FLAC and AIFF of the same samples are read with the right reader and give the same samples") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 16, folder / "a.wav");
  const std::string wav = (folder / "a.wav").string();
  run("flac -f -s -o " + (folder / "a.flac").string() + " " + wav);
  run("sox " + wav + " " + (folder / "a.aiff").string());
  const std::vector<float> expected = samples_of(folder / "a.wav");
  for (const char* name : {"a.wav", "a.flac", "a.aiff"}) {
    INFO(name);
    const auto source = capture_source(open_input(folder / name), layout_of_file(folder / name), name);
    CHECK(source->frames() == kExampleFrames);
    CHECK(all_of(*source) == expected);
  }
}
