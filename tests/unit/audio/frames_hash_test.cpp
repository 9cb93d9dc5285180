// SPDX-License-Identifier: GPL-3.0-or-later
#include <chrono>
#include <thread>

#include "audio/joined_source.hpp"
#include "audio/sha256.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"
#include "unit/audio/example_audio.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;

namespace {

std::string hash_of(const fs::path& path) { return sha256_of_frames(*open_capture(path).audio); }

/// What sha256sum prints for the output of a command.
std::string sum_of(const TempFolder& folder, const std::string& command) {
  run("cd " + folder.path().string() + " && { " + command + "; } | sha256sum | tee sum");
  return folder.read("sum").substr(0, 64);
}

}  // namespace

TEST_CASE("The SHA-256 is the same in every lossless form of the same samples, and is that of sox") {
  const TempFolder folder;
  auto audio = two_tones();
  for (const int bits : {16, 24}) {
    CAPTURE(bits);
    write_capture(audio, bits, folder / "a.wav");
    const std::string expected = hash_of(folder / "a.wav");
    CHECK(expected == sum_of(folder, "sox a.wav -t raw -e signed -b 32 -L -"));
    run("cd " + folder.path().string() +
        " && flac -f -s a.wav && sox a.wav a.aiff && sox a.wav -b 32 -e signed wide.wav && sox a.wav a.w64");
    for (const char* name : {"a.flac", "a.aiff", "wide.wav", "a.w64"}) {
      INFO(name);
      CHECK(hash_of(folder / name) == expected);
    }
  }
}

TEST_CASE("Floats are hashed as they are, also beyond full scale and with 64 bits") {
  const TempFolder folder;
  MemorySource audio = two_tones();
  audio.samples()[5] = 1.75F;
  write_capture(audio, 32, folder / "a.wav");
  run("cd " + folder.path().string() + " && ffmpeg -v error -y -i a.wav -c:a pcm_f64le b.wav");
  CHECK(hash_of(folder / "a.wav") == sum_of(folder, "ffmpeg -v error -i a.wav -f f32le -"));
  CHECK(hash_of(folder / "b.wav") == sum_of(folder, "ffmpeg -v error -i b.wav -f f64le -"));
  // A source that is not a file has 32-bit floats, too.
  CHECK(sha256_of_frames(audio) == hash_of(folder / "a.wav"));
}

TEST_CASE("The SHA-256 does not depend on what was read before, nor on tags and other bytes of the file") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 24, folder / "a.wav");
  run("cd " + folder.path().string() + " && flac -f -s -T TITLE=x a.wav -o a.flac");
  for (const char* name : {"a.wav", "a.flac"}) {
    INFO(name);
    const OpenedCapture opened = open_capture(folder / name);
    std::vector<float> part(2000);
    opened.audio->read(30000, 1000, part.data());
    CHECK(sha256_of_frames(*opened.audio) == hash_of(folder / "a.wav"));
    CHECK(sha256_of_frames(*opened.audio) == hash_of(folder / "a.wav"));
  }
  folder.write("tail.wav", folder.read("a.wav") + "bytes after the audio");
  CHECK(hash_of(folder / "tail.wav") == hash_of(folder / "a.wav"));
}

TEST_CASE("One bit of one sample changes the SHA-256, and so does the order of the channels") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 24, folder / "a.wav");
  std::string bytes = folder.read("a.wav");
  bytes[layout_of_file(folder / "a.wav").data_offset + 6 * 20000] ^= 1;
  folder.write("b.wav", bytes);
  run("cd " + folder.path().string() + " && sox -D a.wav c.wav swap");
  CHECK(hash_of(folder / "b.wav") != hash_of(folder / "a.wav"));
  CHECK(hash_of(folder / "c.wav") != hash_of(folder / "a.wav"));
}

TEST_CASE("Of a file that is cut off, the whole frames that are present are hashed") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 16, folder / "a.wav");
  const auto start = layout_of_file(folder / "a.wav").data_offset;
  folder.write("cut.wav", folder.read("a.wav").substr(0, start + 4 * 1000 + 3));
  run("cd " + folder.path().string() + " && sox a.wav first.wav trim 0 1000s");
  CHECK(hash_of(folder / "cut.wav") == hash_of(folder / "first.wav"));
}

TEST_CASE("A file that was written between the measurement and the hash is refused, also if its length is the same") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 24, folder / "a.wav");
  run("cd " + folder.path().string() + " && flac -f -s a.wav && sox a.wav a.aiff");
  for (const char* name : {"a.wav", "a.flac", "a.aiff"}) {
    INFO(name);
    const OpenedCapture opened = open_capture(folder / name);
    CHECK_NOTHROW(sha256_of_frames(*opened.audio));
    std::this_thread::sleep_for(std::chrono::milliseconds(20));  // the system's clock for files has steps of up to 10 ms
    folder.write(name, folder.read(name));
    CHECK(refusal_of([&] { sha256_of_frames(*opened.audio); }) ==
          (folder / name).string() +
              ": the file changed while it was being read. It is not measured. Measure it again when it is finished.");
  }
}

TEST_CASE("A source that ends before its last frame is refused") {
  class Short : public MemorySource {
   public:
    using MemorySource::MemorySource;
    [[nodiscard]] std::int64_t frames() const override { return MemorySource::frames() + 1; }
    std::int64_t read(std::int64_t first, std::int64_t count, float* out) override {
      return MemorySource::read(first, std::min(count, MemorySource::frames() - first), out);
    }
  };
  Short source(std::vector<float>(20), 48000);
  CHECK(refusal_of([&] { sha256_of_frames(source); }).find("the recording ended before its last frame") == 0);
}
