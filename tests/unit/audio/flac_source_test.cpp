// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/flac_source.hpp"

#include <sndfile.h>

#include <algorithm>

#include "support/refusal.hpp"
#include "support/temp_folder.hpp"
#include "unit/audio/example_audio.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;
using namespace evenwall::internal::storage;

namespace {

bool has(const std::string& text, std::string_view part) { return text.find(part) != std::string::npos; }

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

/// `filler` is 0x00 or 0xFF; both mean that the length is unknown. The low half of byte 21 and bytes 22 to 25 hold the total samples.
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

TEST_CASE("Any stretch of a FLAC file can be read in any order and equals the same part of the whole") {
  const Example example;
  example.folder.write("zeros.flac", without_length(example.flac(), 0x00));
  example.folder.write("ones.flac", without_length(example.flac(), 0xFF));
  run("flac -f -s --no-seektable -o " + example.path("b.flac") + " " + example.path("a.wav"));
  example.folder.write("bare.flac", without_length(example.folder.read("b.flac"), 0x00));
  for (const char* name : {"a.flac", "zeros.flac", "ones.flac", "bare.flac"}) {
    INFO(name);
    require_any_stretch(example.folder / name, example.samples);
  }
}

TEST_CASE("Damaged FLAC is refused, and the message names the frame") {
  const Example example;
  const std::string flac = example.flac();
  const auto path = example.folder.write("cut.flac", flac.substr(0, flac.size() / 2));
  auto cut = open_capture(path);
  std::vector<float> samples(2 * kExampleFrames);
  CHECK(cut.audio->read(0, 10000, samples.data()) == 10000);  // no frame before the cut is lost
  samples.resize(20000);
  CHECK(std::equal(samples.begin(), samples.end(), example.samples.begin()));
  const std::string message = refused(path);
  INFO(message);
  const auto frame = message.find("frame ");
  REQUIRE(frame != std::string::npos);
  const int at = std::stoi(message.substr(frame + 6));
  CHECK(at > kExampleFrames / 4);  // half of the bytes hold about half of the frames
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

TEST_CASE("A long FLAC file can be read backward, within the frames that are kept and before them") {
  const TempFolder folder;
  // 3.6 million frames of 32 bits, of which the latest 2.7 million are kept.
  auto audio = Canvas(48000, 75).tone(0, 75, 997, 0.5, {0, 0.5}).noise(0.001, 7).source();
  write_capture(audio, 16, folder / "a.wav");
  run("flac -f -s -o " + (folder / "a.flac").string() + " " + (folder / "a.wav").string());
  auto plain = open_capture(folder / "a.wav");
  auto flac = open_capture(folder / "a.flac");
  for (const std::int64_t first : {0, 100'000, 90'000, 3'500'000, 3'499'000, 400'000, 100, 3'529'000, 310'000, 1'000'000}) {
    INFO(first);
    std::vector<float> expected(2 * 70'000), part(2 * 70'000);
    CHECK(flac.audio->read(first, 70'000, part.data()) == plain.audio->read(first, 70'000, expected.data()));
    CHECK(part == expected);
  }
  CHECK(all_of(*flac.audio) == all_of(*plain.audio));
}

TEST_CASE("Every stretch has the bits that libsndfile gives") {
  const TempFolder folder;
  auto audio = two_tones();
  for (const int bits : {16, 24}) {
    INFO(bits);
    write_capture(audio, bits, folder / "a.wav");
    run("flac -f -s -o " + (folder / "a.flac").string() + " " + (folder / "a.wav").string());
    SF_INFO info{};
    SNDFILE* decoder = sf_open((folder / "a.flac").c_str(), SFM_READ, &info);
    REQUIRE(decoder != nullptr);
    std::vector<float> expected(static_cast<std::size_t>(2 * info.frames));
    REQUIRE(sf_readf_float(decoder, expected.data(), info.frames) == info.frames);
    sf_close(decoder);
    CHECK(*std::min_element(expected.begin(), expected.end()) < -0.1F);  // signs are tested too
    const CaptureLayout layout = layout_of_file(folder / "a.flac");
    const auto flac = flac_source(open_input(folder / "a.flac"), layout, "a.flac");
    CHECK(all_of(*flac) == expected);
  }
}

TEST_CASE("Frames with another format than the header states are refused") {
  const Example example;
  std::string flac = example.flac();
  flac[20] = static_cast<char>(flac[20] | 0x01);  // bits − 1 = 10111b: 24 instead of 16
  flac[21] = static_cast<char>((flac[21] & 0x0F) | 0x70);
  CHECK(has(refused(example.folder.write("24.flac", flac)), "damaged after frame 0: a frame has another format than the header states"));
}
