// Headers that lie, and headers built to hang a decoder.
#include <chrono>

#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"
#include "support/wav_bytes.hpp"

using namespace evenwall;
using namespace wav;

namespace {

std::string refused(std::string_view bytes) {
  const TempFolder folder;
  return refusal_of([&] { open_capture(folder.write("x.wav", bytes)); });
}

struct Opened {
  std::int64_t frames;
  Warnings warnings;
};
Opened opened(std::string_view bytes) {
  const TempFolder folder;
  const auto capture = open_capture(folder.write("x.wav", bytes));
  std::vector<float> samples(static_cast<std::size_t>(2 * capture.audio->frames()));
  REQUIRE(capture.audio->read(0, capture.audio->frames(), samples.data()) == capture.audio->frames());
  for (std::size_t n = 0; n < samples.size() / 2; ++n) {
    REQUIRE(samples[2 * n] == static_cast<float>(n) / 32768);
    REQUIRE(samples[2 * n + 1] == -static_cast<float>(n) / 32768);
  }
  return {capture.audio->frames(), capture.warnings};
}
std::string only_code(const Opened& o) {
  return o.warnings.size() == 1 ? o.warnings[0].code : std::to_string(o.warnings.size()) + " warnings";
}

const std::string kFmt = chunk("fmt ", fmt_body({}));

std::string with_size(std::uint32_t riff_size, std::string_view chunks) { return "RIFF" + le(riff_size) + "WAVE" + std::string(chunks); }

}  // namespace

TEST_CASE("A sub-chunk size near 2^32 is refused at once") {
  // 93 bytes: RIFF/WAVE, LIST/INFO whose only sub-chunk claims 0xFFFFFFFx bytes, then fmt and data.
  for (const std::uint32_t size : {0xFFFFFFF0U, 0xFFFFFFF7U, 0xFFFFFFFFU}) {
    std::string bytes = riff(chunk("LIST",
                                   "INFO"
                                   "INAM" +
                                       le(size) + "name") +
                             kFmt + chunk("data", ramp(5) + "a"));
    bytes.resize(93);
    const TempFolder folder;
    const auto path = folder.write("x.wav", bytes);
    const auto start = std::chrono::steady_clock::now();
    const std::string message = refusal_of([&] { open_capture(path); });
    const std::chrono::duration<double> took = std::chrono::steady_clock::now() - start;
    CHECK(message.find("more than the LIST around it has") != std::string::npos);
    CHECK(took.count() < 0.010);  // seconds; the limit that faults row F14 sets
  }
}

TEST_CASE("No audio is said as such") {
  CHECK(refused("").find("no audio") != std::string::npos);
  CHECK(refused(riff("")).find("no audio") != std::string::npos);
  CHECK(refused(riff(kFmt)).find("no audio") != std::string::npos);
  CHECK(refused(riff(kFmt + chunk("data", ""))).find("no audio") != std::string::npos);
  CHECK(refused(riff(kFmt + data(0, ramp(100)))).find("0 frames declared, 400 bytes present") != std::string::npos);
}

TEST_CASE("Lengths that do not fit the file are measured as far as they go, and said") {
  const auto cut = opened(with_size(4036, kFmt + data(4000, ramp(500))));
  CHECK(cut.frames == 500);
  REQUIRE(only_code(cut) == "truncated");
  CHECK(cut.warnings[0].message.find("4000 bytes of audio are declared, 2000 are present") != std::string::npos);

  for (const std::uint32_t placeholder : {0xFFFFFFFFU, 0x7FFFF000U}) {
    const auto open_ended = opened(with_size(placeholder, kFmt + data(placeholder, ramp(500))));
    CHECK(open_ended.frames == 500);
    CHECK(only_code(open_ended) == "header_not_final");
  }
  for (const std::uint32_t riff_size : {0U, 8U, 36U}) {
    const auto zero = opened(with_size(riff_size, kFmt + data(0, ramp(500))));
    CHECK(zero.frames == 500);
    CHECK(only_code(zero) == "header_not_final");
  }
  const auto short_data = opened(riff(kFmt + data(400, ramp(500))));
  CHECK(short_data.frames == 100);
  CHECK(only_code(short_data) == "skipped_bytes");
  CHECK(short_data.warnings[0].message.find("1600 bytes") != std::string::npos);

  const auto odd = opened(riff(kFmt + chunk("data", ramp(10) + "abc")));
  CHECK(odd.frames == 10);
  CHECK(only_code(odd) == "truncated");
}

TEST_CASE("Good chunks around the audio cost nothing; garbage and tags are noted") {
  CHECK(opened(riff(chunk("bext", std::string(602, 'b')) + kFmt + chunk("data", ramp(9)) + chunk("LIST", "INFO" + chunk("INAM", "odd"))))
            .warnings.empty());
  const auto garbage = opened(riff(kFmt + chunk("data", ramp(9))) + std::string("\0\xff\0junk", 7));
  CHECK(garbage.frames == 9);
  CHECK(only_code(garbage) == "skipped_bytes");
  const auto tagged = opened(std::string("ID3\4\0\0\0\0\0\5hello", 15) + riff(kFmt + chunk("data", ramp(9))));
  CHECK(tagged.frames == 9);
  CHECK(only_code(tagged) == "skipped_bytes");
}

TEST_CASE("Headers that contradict themselves are refused") {
  const auto wav_with = [](Format f) { return riff(chunk("fmt ", fmt_body(f)) + chunk("data", ramp(100))); };
  CHECK(refused(wav_with({1, 0, 48000, 16})).find("0 channels") != std::string::npos);
  CHECK(refused(wav_with({1, 1024, 48000, 16})).find("1024 channels") != std::string::npos);
  CHECK(refused(wav_with({1, 65535, 48000, 16})).find("65535 channels") != std::string::npos);
  for (const std::uint32_t rate : {0U, 1U, 7999U, 768001U, 0x7FFFFFFFU, 0xFFFFFFFFU})
    CHECK(refused(wav_with({1, 2, rate, 16})).find("sample rate") != std::string::npos);
  CHECK(refused(wav_with({1, 2, 48000, 20})).find("20-bit") != std::string::npos);
  CHECK(refused(wav_with({3, 2, 48000, 16})).find("16-bit float") != std::string::npos);
  CHECK(refused(wav_with({0x55, 2, 48000, 16})).find("MP3") != std::string::npos);
  CHECK(refused(wav_with({0xFFFE, 2, 48000, 16})).find("extensible") != std::string::npos);

  std::string frame = wav_with({});
  frame[32] = 6;
  CHECK(refused(frame).find("6 bytes a frame") != std::string::npos);
  std::string second = wav_with({});
  second[28] = 1;
  CHECK(refused(second).find("bytes a second") != std::string::npos);

  const std::string sound = chunk("data", ramp(100));
  CHECK(refused(riff(kFmt + kFmt + sound)).find("second format") != std::string::npos);
  CHECK(refused(riff(kFmt + sound + sound)).find("second data") != std::string::npos);
  CHECK(refused(riff(sound + kFmt)).find("before the format") != std::string::npos);
  CHECK(refused(riff(kFmt + sound + kFmt)).find("after the audio") != std::string::npos);
  CHECK(refused(riff(chunk("fmt ", "short") + sound)).find("too short") != std::string::npos);
  CHECK(refused(riff("JUNK" + le(0xF0000000U) + kFmt + sound)).find("more than the file has") != std::string::npos);
}

TEST_CASE("Work on a header is bounded") {
  std::string many;
  for (int i = 0; i < 10001; ++i) many += chunk("tiny", "");
  CHECK(refused(riff(many + kFmt + chunk("data", ramp(5)))).find("more than 10000") != std::string::npos);
  std::string sub;
  for (int i = 0; i < 10001; ++i) sub += chunk("ICMT", "");
  CHECK(refused(riff(chunk("LIST", "INFO" + sub) + kFmt + chunk("data", ramp(5)))).find("more than 10000") != std::string::npos);
  CHECK(refused(riff(chunk("bext", std::string((1 << 20) + 2, 'x')) + kFmt + chunk("data", ramp(5)))).find("1 MiB") != std::string::npos);
}

TEST_CASE("RF64 sizes of any height") {
  const auto rf64 = [](std::uint64_t data_size, const std::string& table) {
    return "RF64" + le(0xFFFFFFFFU) + "WAVE" + chunk("ds64", le(std::uint64_t{1000}) + le(data_size) + le(std::uint64_t{0}) + table) +
           kFmt + data(0xFFFFFFFFU, ramp(50));
  };
  const std::string no_table = le(0U);
  CHECK(opened(rf64(200, no_table)).warnings.empty());
  CHECK(only_code(opened(rf64(5000, no_table))) == "truncated");
  for (const std::uint64_t size : {1ULL << 62U, 1ULL << 63U, ~0ULL, ~0ULL - 7}) {
    const auto o = opened(rf64(size, no_table));
    CHECK(o.frames == 50);
    CHECK(only_code(o) == "header_not_final");
  }
  CHECK(refused(rf64(200, le(0xFFFFFFFFU))).find("table of") != std::string::npos);
  CHECK(refused("RF64" + le(0xFFFFFFFFU) + "WAVE" + kFmt + data(0xFFFFFFFFU, ramp(50))).find("ds64") != std::string::npos);
}

TEST_CASE("W64 sizes of any height") {
  const std::string wave_tail("\xf3\xac\xd3\x11\x8c\xd1\x00\xc0\x4f\x8e\xdb\x8a", 12);
  const auto w64 = [&](std::uint64_t data_size) {
    return "riff" + std::string("\x2e\x91\xcf\x11\xa5\xd6\x28\xdb\x04\xc1\x00\x00", 12) + le(std::uint64_t{1000}) + "wave" + wave_tail +
           "fmt " + wave_tail + le(std::uint64_t{24 + 16}) + fmt_body({}) + "data" + wave_tail + le(data_size) + ramp(50);
  };
  CHECK(opened(w64(24 + 200)).warnings.empty());
  CHECK(only_code(opened(w64(24 + 5000))) == "truncated");
  for (const std::uint64_t size : {(1ULL << 63U) - 1, ~0ULL - 7}) CHECK(only_code(opened(w64(size))) == "header_not_final");
}

TEST_CASE("A RIFF file over 4 GiB is recognised by its size") {
  const TempFolder folder;
  const std::uint64_t audio_bytes = (1ULL << 32U) + 4000;  // sparse; the header can only say 4000
  const auto path = folder.write("big.wav", with_size(4036, kFmt + data(4000, ramp(1000))));
  fs::resize_file(path, 44 + audio_bytes);
  auto capture = open_capture(path);
  CHECK(capture.audio->frames() == static_cast<std::int64_t>(audio_bytes / 4));
  REQUIRE(capture.warnings.size() == 1);
  CHECK(capture.warnings[0].code == "header_not_final");
  float last[4];
  CHECK(capture.audio->read(capture.audio->frames() - 2, 2, last) == 2);
}

TEST_CASE("Random headers never crash and never hang") {
  const std::string good = riff(chunk("LIST", "INFO" + chunk("INAM", "name")) + kFmt + chunk("data", ramp(40)));
  std::uint32_t state = 20240611;  // seed
  const TempFolder folder;
  int accepted = 0;
  for (int trial = 0; trial < 2000; ++trial) {
    std::string bytes = good;
    for (int flips = 0; flips < 3; ++flips) {
      state = state * 1664525U + 1013904223U;
      bytes[(state >> 8U) % 76] = static_cast<char>(state >> 24U);
    }
    const auto path = folder.write("x.wav", bytes);
    try {
      auto capture = open_capture(path);
      std::vector<float> samples(static_cast<std::size_t>(2 * capture.audio->frames()));
      REQUIRE(capture.audio->frames() <= 100);  // no more than the file can hold
      capture.audio->read(0, capture.audio->frames(), samples.data());
      ++accepted;
    } catch (const Error& error) {
      INFO("trial " << trial);
      REQUIRE(error.kind() == ErrorKind::kInput);
      REQUIRE(std::string(error.what()).find('\n') == std::string::npos);
    }
  }
  CHECK(accepted > 0);
  CHECK(accepted < 2000);
}
