// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/unpacked_source.hpp"

#include "audio/decoded_source.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"
#include "unit/audio/example_audio.hpp"
#include "unit/storage/failing_medium.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;
using namespace evenwall::internal::storage;

TEST_CASE("Every stretch has the same bits as from the decoder") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 16, folder / "a16.wav");
  write_capture(audio, 24, folder / "a24.wav");
  run("sox " + (folder / "a24.wav").string() + " -e floating-point -b 32 " + (folder / "a32.wav").string());
  for (const char* name : {"a16.wav", "a24.wav", "a32.wav"}) {
    INFO(name);
    const CaptureLayout layout = layout_of_file(folder / name);
    REQUIRE(needs_no_decoder(layout));
    const auto plain = unpacked_source(open_input(folder / name), layout, name);
    const auto decoded = decoded_source(open_input(folder / name), layout, name);
    CHECK(all_of(*plain) == all_of(*decoded));
    for (const std::int64_t first : {39000, 5, 17000, 8191, 8193, 0, 39999}) {
      std::vector<float> part(20000), same(20000);
      CHECK(plain->read(first, 10000, part.data()) == decoded->read(first, 10000, same.data()));
      CHECK(part == same);
    }
    float none[2];
    CHECK(plain->read(kExampleFrames, 1, none) == 0);
    CHECK(plain->read(-1, 1, none) == 0);
  }
}

TEST_CASE("Samples of another byte order or width are left to the decoder") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 16, folder / "a.wav");
  for (const char* how : {"-e signed -b 32 b.wav", "-e floating-point -b 64 c.wav", "-t aiff d.aiff"}) {
    INFO(how);
    run("cd " + folder.path().string() + " && sox a.wav " + how);
    const std::string name = std::string(how).substr(std::string(how).rfind(' ') + 1);
    CHECK_FALSE(needs_no_decoder(layout_of_file(folder / name)));
  }
}

TEST_CASE("If the medium fails half-way, plain unpacking also names the frame") {
  const FailingMedium medium;
  const auto audio = unpacked_source(FailingMedium::open(), medium.layout(), "x.wav");
  std::vector<float> samples(static_cast<std::size_t>(2 * audio->frames()));
  const std::string message = refusal_of([&] { audio->read(0, audio->frames(), samples.data()); });
  CHECK(message ==
        "x.wav: the file cannot be read after frame 16384: Input/output error. Check the medium, and copy the file to another medium.");
}

TEST_CASE("A fault of the medium that is met while reading ahead is reported only when those frames are requested") {
  const FailingMedium medium;
  const auto audio = unpacked_source(FailingMedium::open(), medium.layout(), "x.wav");
  std::vector<float> samples(2 * 8192);
  CHECK(audio->read(0, 4096, samples.data()) == 4096);
  CHECK(audio->read(4096, 8192, samples.data()) == 8192);  // continues the last read, so it reads ahead, into the fault
  CHECK(audio->read(12288, 4096, samples.data()) == 4096);
  CHECK(refusal_of([&] { audio->read(16384, 1, samples.data()); }) ==
        "x.wav: the file cannot be read after frame 16384: Input/output error. Check the medium, and copy the file to another medium.");
}
