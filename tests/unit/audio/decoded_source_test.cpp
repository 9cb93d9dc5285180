// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/decoded_source.hpp"

#include "support/refusal.hpp"
#include "support/temp_folder.hpp"
#include "support/wav_bytes.hpp"
#include "unit/audio/example_audio.hpp"
#include "unit/storage/failing_medium.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;

namespace {

bool has(const std::string& text, std::string_view part) { return text.find(part) != std::string::npos; }

std::string long_wav() { return wav::riff(wav::chunk("fmt ", wav::fmt_body({})) + wav::chunk("data", wav::ramp(20000))); }

struct Example {
  TempFolder folder;
  std::vector<float> samples;
  Example() {
    auto audio = two_tones();
    write_capture(audio, 16, folder / "a.wav");
    samples = samples_of(folder / "a.wav");
  }
  [[nodiscard]] std::string path(const char* name) const { return (folder / name).string(); }
};

}  // namespace

TEST_CASE("Any stretch can be read in any order and equals the same part of the whole") {
  const Example example;
  run("ffmpeg -y -i " + example.path("a.wav") + " -c:a pcm_s16le -f aiff " + example.path("sowt.aifc"));
  for (const char* name : {"a.wav", "sowt.aifc"}) {
    INFO(name);
    require_any_stretch(example.folder / name, example.samples);
  }
}

TEST_CASE("AIFC files that other programs write give the same samples") {
  const Example example;
  const std::string in = example.path("a.wav");
  run("ffmpeg -y -i " + in + " -c:a pcm_f32be -f aiff " + example.path("fl32.aifc"));
  run("ffmpeg -y -i " + in + " -c:a pcm_f64be -f aiff " + example.path("fl64.aifc"));
  run("ffmpeg -y -i " + in + " -c:a pcm_s16le -f aiff " + example.path("sowt.aifc"));
  run("sox " + in + " " + example.path("none.aifc"));
  const struct {
    const char* name;
    const char* encoding;
  } cases[] = {{"fl32.aifc", "AIFC float 32-bit"},
               {"fl64.aifc", "AIFC float 64-bit"},
               {"sowt.aifc", "AIFC PCM 16-bit"},
               {"none.aifc", "AIFC PCM 16-bit"}};
  for (const auto& c : cases) {
    INFO(c.name);
    auto opened = open_capture(example.folder / c.name);
    CHECK(opened.warnings.empty());
    CHECK(opened.audio->info().encoding == c.encoding);
    CHECK(all_of(*opened.audio) == example.samples);
  }
}

TEST_CASE("A file that shrinks or grows while it is read is refused") {
  const TempFolder folder;
  const auto path = folder.write("a.wav", long_wav());
  std::vector<float> samples(40000);
  auto shrinking = open_capture(path);
  REQUIRE(shrinking.audio->read(0, 10, samples.data()) == 10);
  fs::resize_file(path, 4000);
  CHECK(has(refusal_of([&] { shrinking.audio->read(0, 20000, samples.data()); }), "ends at frame 989, but 20000 frames are declared"));
  auto growing = open_capture(folder.write("b.wav", long_wav()));
  std::ofstream(folder / "b.wav", std::ios::app) << "more";
  CHECK(has(refusal_of([&] { growing.audio->read(0, 20000, samples.data()); }), "changed while"));
}

TEST_CASE("If the medium fails half-way, the message names the frame, and the failure is not taken for the end") {
  const FailingMedium medium;
  const auto audio = decoded_source(FailingMedium::open(), medium.layout(), "x.wav");
  std::vector<float> samples(static_cast<std::size_t>(2 * audio->frames()));
  const std::string message = refusal_of([&] { audio->read(0, audio->frames(), samples.data()); });
  CHECK(message ==
        "x.wav: the file cannot be read after frame 16384: Input/output error. Check the medium, and copy the file to another medium.");
}
