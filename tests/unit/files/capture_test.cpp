// Files that real programs write, read to the same samples.
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmath>
#include <cstdlib>
#include <thread>

#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/memory_source.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"
#include "support/wav_bytes.hpp"

using namespace evenwall;

namespace {

constexpr std::int64_t kFrames = 40000;  // more than two blocks of the decoder

MemorySource two_tones() {
  return Canvas(48000, static_cast<double>(kFrames) / 48000).tone(0, 1, 997, 0.5, {0, 0.01}).noise(0.001, 7).source();
}

std::vector<float> all_of(AudioSource& audio) {
  std::vector<float> samples(static_cast<std::size_t>(2 * audio.frames()));
  REQUIRE(audio.read(0, audio.frames(), samples.data()) == audio.frames());
  return samples;
}

void run(const std::string& command) {
  INFO(command);
  REQUIRE(std::system((command + " >/dev/null 2>&1").c_str()) == 0);
}

std::vector<float> samples_of(const fs::path& path) {
  auto opened = open_capture(path);
  return all_of(*opened.audio);
}

double largest_difference(const std::vector<float>& a, const std::vector<float>& b) {
  REQUIRE(a.size() == b.size());
  double largest = 0;
  for (std::size_t i = 0; i < a.size(); ++i) largest = std::max(largest, std::abs(static_cast<double>(a[i]) - static_cast<double>(b[i])));
  return largest;
}

}  // namespace

TEST_CASE("A written capture reads back within half a step, float exactly") {
  const TempFolder folder;
  auto audio = two_tones();
  const auto original = all_of(audio);
  const struct {
    int bits;
    double tolerance;  // half a step of full scale 1
    const char* encoding;
  } cases[] = {{16, 0.5 / 32768, "WAV PCM 16-bit"}, {24, 0.5 / 8388608 * 1.001, "WAV PCM 24-bit"}, {32, 0, "WAV float 32-bit"}};
  for (const auto& c : cases) {
    write_capture(audio, c.bits, folder / "a.wav");
    auto opened = open_capture(folder / "a.wav");
    CHECK(opened.warnings.empty());
    CHECK(opened.audio->info().encoding == c.encoding);
    CHECK(opened.audio->info().sample_rate_hz == 48000);
    CHECK(opened.audio->frames() == kFrames);
    CHECK(largest_difference(all_of(*opened.audio), original) <= c.tolerance);
  }
  CHECK(folder.entries() == 1);
}

TEST_CASE("Writing rounds without bias, clips, and gives the same bytes twice") {
  const TempFolder folder;
  MemorySource audio({0.6F / 32768, -0.6F / 32768, 2.0F, -2.0F, NAN, 1.0F}, 8000);
  write_capture(audio, 16, folder / "a.wav");
  CHECK(samples_of(folder / "a.wav") == std::vector<float>{1.0F / 32768, -1.0F / 32768, 32767.0F / 32768, -1, 0, 32767.0F / 32768});
  write_capture(audio, 32, folder / "b.wav");
  std::this_thread::sleep_for(std::chrono::milliseconds(1100));  // a time stamp of whole seconds would show
  write_capture(audio, 32, folder / "c.wav");
  CHECK(folder.read("b.wav") == folder.read("c.wav"));
  CHECK(refusal_of([&] { write_capture(audio, 8, folder / "d.wav"); }).find("8 bits") != std::string::npos);
  CHECK_FALSE(fs::exists(folder / "d.wav"));
}

TEST_CASE("Every accepted container holds the same samples") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 24, folder / "a.wav");
  const auto expected = samples_of(folder / "a.wav");
  const std::string in = (folder / "a.wav").string();
  const auto out = [&](const char* name) { return (folder / name).string(); };
  run("sox " + in + " -e floating-point -b 32 " + out("f32.wav"));
  run("sox " + in + " -e floating-point -b 64 " + out("f64.wav"));
  run("sox " + in + " -b 32 -e signed-integer " + out("p32.wav"));
  run("sox " + in + " -b 24 " + out("ext.wav"));  // sox writes 24 bits as EXTENSIBLE
  run("sox " + in + " " + out("a.aiff"));
  run("ffmpeg -y -i " + in + " -c:a pcm_s24le -f w64 " + out("a.w64"));
  run("ffmpeg -y -i " + in + " -c:a pcm_s24le -rf64 always " + out("rf64.wav"));
  run("ffmpeg -y -i " + in + " -c:a pcm_f32be " + out("f32.aifc") + " -f aiff");
  run("ffmpeg -y -i " + in + " -c:a pcm_s24be -f aiff " + out("b.aiff"));
  run("flac -f -s -o " + out("a.flac") + " " + in);
  const struct {
    const char* name;
    const char* encoding;
  } cases[] = {{"f32.wav", "WAV float 32-bit"}, {"f64.wav", "WAV float 64-bit"}, {"p32.wav", "WAV PCM 32-bit"},
               {"ext.wav", "WAV PCM 24-bit"},   {"a.aiff", "AIFF PCM 24-bit"},   {"a.w64", "W64 PCM 24-bit"},
               {"rf64.wav", "RF64 PCM 24-bit"}, {"b.aiff", "AIFF PCM 24-bit"},   {"a.flac", "FLAC 24-bit"}};
  for (const auto& c : cases) {
    INFO(c.name);
    auto opened = open_capture(folder / c.name);
    for (const Warning& w : opened.warnings) FAIL_CHECK(w.message);
    CHECK(opened.audio->info().encoding == c.encoding);
    CHECK(all_of(*opened.audio) == expected);
  }
}

TEST_CASE("Any stretch can be read in any order") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 16, folder / "a.wav");
  run("flac -f -s -o " + (folder / "a.flac").string() + " " + (folder / "a.wav").string());
  const auto expected = samples_of(folder / "a.wav");
  for (const char* name : {"a.wav", "a.flac"}) {
    auto opened = open_capture(folder / name);
    for (const std::int64_t first : {39000, 5, 17000, 16999, 0, 39999}) {
      std::vector<float> part(2000);
      const auto n = opened.audio->read(first, 1000, part.data());
      CHECK(n == std::min<std::int64_t>(1000, kFrames - first));
      CHECK(std::equal(part.begin(), part.begin() + 2 * n, expected.begin() + 2 * first));
    }
    float none[2];
    CHECK(opened.audio->read(kFrames, 1, none) == 0);
    CHECK(opened.audio->read(-1, 1, none) == 0);
  }
}

TEST_CASE("Pipes are spooled: FLAC, and WAV whose header was never finished") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 16, folder / "a.wav");
  const auto expected = samples_of(folder / "a.wav");
  const std::string in = (folder / "a.wav").string();
  for (const std::string& command :
       {"cat " + in, "flac -s -c " + in, "sox " + in + " -t wav - 2>/dev/null", "ffmpeg -v quiet -i " + in + " -f wav -"}) {
    INFO(command);
    FILE* pipe = ::popen(command.c_str(), "r");
    REQUIRE(pipe != nullptr);
    auto opened = open_capture_stream(::fileno(pipe));
    ::pclose(pipe);
    CHECK(all_of(*opened.audio) == expected);
  }
  const auto fifo = folder / "fifo";
  REQUIRE(::mkfifo(fifo.c_str(), 0600) == 0);
  std::thread writer([&] { run("cat " + in + " | tee " + fifo.string()); });
  auto opened = open_capture(fifo);
  writer.join();
  CHECK(all_of(*opened.audio) == expected);
}

TEST_CASE("Codecs and other containers are refused by name") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 16, folder / "a.wav");
  const std::string in = (folder / "a.wav").string();
  const auto out = [&](const char* name) { return (folder / name).string(); };
  run("ffmpeg -y -i " + in + " -c:a mp3 -f wav " + out("mp3.wav"));
  run("ffmpeg -y -i " + in + " -c:a adpcm_ima_wav " + out("ima.wav"));
  run("sox " + in + " -e mu-law " + out("mulaw.wav"));
  run("sox " + in + " -b 8 " + out("8.wav"));
  run("sox " + in + " " + out("a.au"));
  run("ffmpeg -y -i " + in + " " + out("a.caf"));
  run("sox " + in + " " + out("a.ogg"));
  run("sox " + in + " -c 1 " + out("mono.wav"));
  run("sox " + in + " -c 3 " + out("three.wav"));
  run("sox " + in + " -c 1 " + out("mono.flac"));
  folder.write("random.gsm", "\x91\x02zz\x10\xf0\x07\x12\x44");
  folder.write("letter.wav", "Dear Sir or Madam,\nhere is my record.\n");
  const struct {
    const char* name;
    const char* word;
  } cases[] = {{"mp3.wav", "MP3"},
               {"ima.wav", "IMA ADPCM"},
               {"mulaw.wav", "law"},
               {"8.wav", "8-bit PCM"},
               {"a.au", "AU"},
               {"a.caf", "CAF"},
               {"a.ogg", "Ogg"},
               {"mono.wav", "one channel: no crosstalk can be measured"},
               {"three.wav", "3 channels"},
               {"mono.flac", "one channel"},
               {"random.gsm", "unknown"},
               {"letter.wav", "is text"}};
  for (const auto& c : cases) {
    const std::string message = refusal_of([&] { open_capture(folder / c.name); });
    INFO(message);
    CHECK(message.find(c.word) != std::string::npos);
    CHECK(message.find(c.name) != std::string::npos);
    CHECK(message.find('\n') == std::string::npos);
  }
}

TEST_CASE("What is no file is refused with the system's words and an escaped name") {
  const TempFolder folder;
  CHECK(refusal_of([&] { open_capture(folder.path()); }).find("is a folder") != std::string::npos);
  CHECK(refusal_of([] { open_capture("/dev/zero"); }).find("is a device") != std::string::npos);
  CHECK(refusal_of([&] { open_capture(folder / "no\nsuch\x1b.wav"); }).find("no\\x0Asuch\\x1B.wav: cannot be opened: No such file") !=
        std::string::npos);
  fs::create_symlink("loop", folder / "loop");
  CHECK(refusal_of([&] { open_capture(folder / "loop"); }).find("symbolic links") != std::string::npos);
  CHECK(refusal_of([&] { open_capture(folder / std::string(300, 'x')); }).find("too long") != std::string::npos);
}

TEST_CASE("Damaged FLAC is refused with the frame; one without a length is read to its end") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 16, folder / "a.wav");
  run("flac -f -s -o " + (folder / "a.flac").string() + " " + (folder / "a.wav").string());
  const std::string flac = folder.read("a.flac");
  const auto expected = samples_of(folder / "a.wav");

  const auto read_all = [&](const std::string& name, const std::string& bytes) {
    const auto path = folder.write(name, bytes);
    return refusal_of([&] {
      auto opened = open_capture(path);
      std::vector<float> samples(static_cast<std::size_t>(2 * opened.audio->frames()));
      opened.audio->read(0, opened.audio->frames(), samples.data());
    });
  };
  CHECK(read_all("cut.flac", flac.substr(0, flac.size() / 2)).find("frame") != std::string::npos);
  std::string flipped = flac;
  flipped[flac.size() / 2] = static_cast<char>(flipped[flac.size() / 2] ^ 0x10);
  CHECK(read_all("flip.flac", flipped).find("frame") != std::string::npos);
  CHECK(read_all("head.flac", flac.substr(0, 60)).find("no audio") != std::string::npos);

  for (const int filler : {0x00, 0xFF}) {
    std::string unknown = flac;  // total samples: the low half of byte 21 and bytes 22 to 25
    unknown[21] = static_cast<char>((unknown[21] & 0xF0) | (filler & 0x0F));
    for (std::size_t i = 22; i < 26; ++i) unknown[i] = static_cast<char>(filler);
    auto opened = open_capture(folder.write("unknown.flac", unknown));
    CHECK(opened.audio->frames() == kFrames);
    CHECK(all_of(*opened.audio) == expected);
    CHECK(all_of(*opened.audio) == expected);  // and once more from the start
  }
}

TEST_CASE("A file that shrinks or grows while it is read is refused") {
  const TempFolder folder;
  const auto path = folder.write("a.wav", wav::riff(wav::chunk("fmt ", wav::fmt_body({})) + wav::chunk("data", wav::ramp(20000))));
  std::vector<float> samples(40000);
  auto shrinking = open_capture(path);
  REQUIRE(shrinking.audio->read(0, 10, samples.data()) == 10);
  fs::resize_file(path, 4000);
  CHECK(refusal_of([&] { shrinking.audio->read(0, 20000, samples.data()); }).find("ends at frame") != std::string::npos);
  auto growing =
      open_capture(folder.write("b.wav", wav::riff(wav::chunk("fmt ", wav::fmt_body({})) + wav::chunk("data", wav::ramp(20000)))));
  std::ofstream(folder / "b.wav", std::ios::app) << "more";
  CHECK(refusal_of([&] { growing.audio->read(0, 20000, samples.data()); }).find("changed while") != std::string::npos);
}
