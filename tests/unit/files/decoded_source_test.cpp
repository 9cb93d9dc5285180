#include "files/decoded_source.hpp"

#include "support/refusal.hpp"
#include "support/temp_folder.hpp"
#include "support/wav_bytes.hpp"
#include "unit/files/example_audio.hpp"
#include "unit/files/failing_medium.hpp"

using namespace evenwall;

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
  [[nodiscard]] std::string flac() const {
    run("flac -f -s -o " + path("a.flac") + " " + path("a.wav"));
    return folder.read("a.flac");
  }
};

/// `filler` 0x00 or 0xFF, both mean unknown. Total samples: the low half of byte 21 and bytes 22 to 25.
std::string without_length(std::string flac, int filler) {
  flac[21] = static_cast<char>((flac[21] & 0xF0) | (filler & 0x0F));
  for (std::size_t i = 22; i < 26; ++i) flac[i] = static_cast<char>(filler);
  return flac;
}

std::string refused(const fs::path& path) {
  std::vector<float> samples(2 * kExampleFrames);
  return refusal_of([&] { open_capture(path).audio->read(0, kExampleFrames, samples.data()); });
}

}  // namespace

TEST_CASE("Any stretch can be read in any order, and equals the whole") {
  const Example example;
  example.folder.write("zeros.flac", without_length(example.flac(), 0x00));
  example.folder.write("ones.flac", without_length(example.flac(), 0xFF));
  run("flac -f -s --no-seektable -o " + example.path("b.flac") + " " + example.path("a.wav"));
  example.folder.write("bare.flac", without_length(example.folder.read("b.flac"), 0x00));
  run("ffmpeg -y -i " + example.path("a.wav") + " -c:a pcm_s16le -f aiff " + example.path("sowt.aifc"));
  for (const char* name : {"a.wav", "a.flac", "zeros.flac", "ones.flac", "bare.flac", "sowt.aifc"}) {
    INFO(name);
    auto opened = open_capture(example.folder / name);
    CHECK(opened.audio->frames() == kExampleFrames);
    for (const std::int64_t first : {39000, 5, 17000, 16999, 0, 39999, 16383, 16385, 1}) {
      std::vector<float> part(2000);
      const auto n = opened.audio->read(first, 1000, part.data());
      CHECK(n == std::min<std::int64_t>(1000, kExampleFrames - first));
      CHECK(std::equal(part.begin(), part.begin() + 2 * n, example.samples.begin() + 2 * first));
    }
    float none[2];
    CHECK(opened.audio->read(kExampleFrames, 1, none) == 0);
    CHECK(opened.audio->read(-1, 1, none) == 0);
    CHECK(all_of(*opened.audio) == example.samples);
  }
}

TEST_CASE("AIFC of other programs holds the same samples") {
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

TEST_CASE("Damaged FLAC is refused with the frame") {
  const Example example;
  const std::string flac = example.flac();
  const auto path = example.folder.write("cut.flac", flac.substr(0, flac.size() / 2));
  auto cut = open_capture(path);
  std::vector<float> samples(2 * kExampleFrames);
  CHECK(cut.audio->read(0, 10000, samples.data()) == 10000);  // before the cut nothing is lost
  samples.resize(20000);
  CHECK(std::equal(samples.begin(), samples.end(), example.samples.begin()));
  const std::string message = refused(path);
  INFO(message);
  const auto frame = message.find("frame ");
  REQUIRE(frame != std::string::npos);
  const int at = std::stoi(message.substr(frame + 6));
  CHECK(at > kExampleFrames / 4);  // half of the bytes is about half of the frames
  CHECK(at < kExampleFrames * 3 / 4);

  std::string flipped = flac;
  flipped[flac.size() / 2] = static_cast<char>(flipped[flac.size() / 2] ^ 0x10);
  CHECK(has(refused(example.folder.write("flip.flac", flipped)), "frame"));
  CHECK(has(refused(example.folder.write("head.flac", flac.substr(0, 60))), "no audio"));
}

TEST_CASE("FLAC without a length is read to its end") {
  const Example example;
  for (const int filler : {0x00, 0xFF}) {
    auto opened = open_capture(example.folder.write("unknown.flac", without_length(example.flac(), filler)));
    CHECK(opened.audio->frames() == kExampleFrames);
    CHECK(all_of(*opened.audio) == example.samples);
    CHECK(all_of(*opened.audio) == example.samples);  // and once more from the start
  }
}

TEST_CASE("A file that shrinks or grows while it is read is refused") {
  const TempFolder folder;
  const auto path = folder.write("a.wav", long_wav());
  std::vector<float> samples(40000);
  auto shrinking = open_capture(path);
  REQUIRE(shrinking.audio->read(0, 10, samples.data()) == 10);
  fs::resize_file(path, 4000);
  CHECK(has(refusal_of([&] { shrinking.audio->read(0, 20000, samples.data()); }), "ends at frame 989, 20000 are declared"));
  auto growing = open_capture(folder.write("b.wav", long_wav()));
  std::ofstream(folder / "b.wav", std::ios::app) << "more";
  CHECK(has(refusal_of([&] { growing.audio->read(0, 20000, samples.data()); }), "changed while"));
}

TEST_CASE("A medium that fails half-way is said with the frame, never taken for the end") {
  const FailingMedium medium;
  const auto audio = decoded_source(FailingMedium::open(), medium.layout(), "x.wav");
  std::vector<float> samples(static_cast<std::size_t>(2 * audio->frames()));
  const std::string message = refusal_of([&] { audio->read(0, audio->frames(), samples.data()); });
  CHECK(message == "x.wav: cannot be read after frame 16384: Input/output error; check the medium, and copy the file to another");
}

TEST_CASE("A long FLAC can be read backward, within what is kept and before it") {
  const TempFolder folder;
  auto audio = Canvas(48000, 50).tone(0, 50, 997, 0.5, {0, 0.01}).noise(0.001, 7).source();  // 2.4 million frames, 2^21 are kept
  write_capture(audio, 16, folder / "a.wav");
  run("flac -f -s -o " + (folder / "a.flac").string() + " " + (folder / "a.wav").string());
  auto plain = open_capture(folder / "a.wav");
  auto flac = open_capture(folder / "a.flac");
  for (const std::int64_t first : {0, 100'000, 90'000, 2'300'000, 2'299'000, 400'000, 100, 2'399'000, 310'000, 1'000'000}) {
    INFO(first);
    std::vector<float> expected(2 * 70'000), part(2 * 70'000);
    CHECK(flac.audio->read(first, 70'000, part.data()) == plain.audio->read(first, 70'000, expected.data()));
    CHECK(part == expected);
  }
  CHECK(all_of(*flac.audio) == all_of(*plain.audio));
}
