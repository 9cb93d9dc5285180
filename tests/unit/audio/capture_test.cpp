// SPDX-License-Identifier: GPL-3.0-or-later
// Checks that files from real programs are read to the same samples, and that other codecs are refused.
#include <sys/stat.h>

#include <thread>

#include "support/refusal.hpp"
#include "support/temp_folder.hpp"
#include "unit/audio/example_audio.hpp"

using namespace evenwall;

TEST_CASE("Every accepted container gives the same samples") {
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

TEST_CASE("FLAC and WAV with an unfinished header are read from pipes") {
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

TEST_CASE("Other codecs and containers are refused, and the message names them") {
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
               {"mono.wav", "one channel, so no crosstalk can be measured"},
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
