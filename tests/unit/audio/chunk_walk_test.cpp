// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/chunk_walk.hpp"

#include "support/wav_bytes.hpp"
#include "unit/audio/opened_bytes.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;
using namespace evenwall::internal::storage;
using namespace wav;

namespace {

constexpr std::uint64_t kFirst = 12;  // byte of the first chunk, after RIFF, size, WAVE
const std::string kFmt = chunk("fmt ", fmt_body({}));
const std::string kSound = chunk("data", ramp(100));

WalkedChunks walked(std::string_view bytes) {
  const Descriptor file = in_memory(bytes);
  return walk_chunks(FileBytes(file.get(), "x.wav"), ChunkStyle::kRiff, kFirst, {"fmt ", "data"});
}
std::string refused(std::string_view chunks) {
  return refusal_of([&] { walked(riff(chunks)); });
}
std::string tiny_chunks(int count) {
  std::string bytes;
  for (int i = 0; i < count; ++i) bytes += chunk("tiny", "");
  return bytes;
}
std::string ds64(std::uint64_t data_bytes, std::uint32_t table_entries) {
  return chunk("ds64", le(std::uint64_t{7777}) + le(data_bytes) + le(std::uint64_t{0}) + le(table_entries));
}

}  // namespace

TEST_CASE("Chunks are padded to a multiple of two bytes, and in W64 to a multiple of eight") {
  const std::string odd = "odd " + le(3U) + std::string("abc\0", 4);
  const auto riff_walk = walked(riff(odd + kFmt + kSound));
  CHECK(riff_walk.format.offset == 12 + 12 + 8);
  CHECK(riff_walk.format.size == 16);
  CHECK(riff_walk.data.offset == 12 + 12 + 24 + 8);
  CHECK(riff_walk.data.size == 400);

  const std::string form(
      "FORM....AIFF"
      "odd \0\0\0\3abc\0"
      "COMM\0\0\0\2hi"
      "SSND\0\0\0\4snd!",
      12 + 12 + 10 + 12);
  const Descriptor aiff = in_memory(form);
  const auto aiff_walk = walk_chunks(FileBytes(aiff.get(), "x.aiff"), ChunkStyle::kAiff, kFirst, {"COMM", "SSND"});
  CHECK((aiff_walk.format.offset == 32 && aiff_walk.format.size == 2 && aiff_walk.data.offset == 42 && aiff_walk.data.size == 4));

  const std::string tail(12, 'g');
  const Descriptor w64 = in_memory(std::string(40, '.') + "odd!" + tail + le(std::uint64_t{24 + 3}) + "abc....." + "fmt " + tail +
                                   le(std::uint64_t{24 + 16}) + fmt_body({}) + "data" + tail + le(std::uint64_t{24 + 400}) + ramp(100));
  const auto w64_walk = walk_chunks(FileBytes(w64.get(), "x.w64"), ChunkStyle::kWave64, 40, {"fmt ", "data"});
  CHECK((w64_walk.format.offset == 40 + 32 + 24 && w64_walk.format.size == 16 && w64_walk.data.size == 400));
}

TEST_CASE("A sub-chunk with a size near 2^32 is refused") {
  // The file has 93 bytes: RIFF/WAVE, LIST/INFO with one sub-chunk that claims 0xFFFFFFFx bytes, then fmt and data.
  for (const std::uint32_t size : {0xFFFFFFF0U, 0xFFFFFFF7U, 0xFFFFFFFFU}) {
    std::string bytes = riff(chunk("LIST",
                                   "INFO"
                                   "INAM" +
                                       le(size) + "name") +
                             kFmt + chunk("data", ramp(5) + "a"));
    bytes.resize(93);
    CHECK(has(refused_layout(bytes), "more than the LIST around it has"));
  }
}

TEST_CASE("Sub-chunks may fill their LIST chunk, but must not exceed it by one byte") {
  const auto list = [](std::uint32_t part_size) { return "LIST" + le(16U) + "INFOINAM" + le(part_size) + "name"; };
  CHECK(walked(riff(list(4) + kFmt + kSound)).data.size == 400);
  CHECK(has(refused(list(5) + kFmt + kSound), "chunk \"INAM\" at byte 32 claims 5 bytes, which is more than the LIST around it has"));
  const std::string inner = chunk("LIST", "INFO" + chunk("INAM", "inner"));
  CHECK(walked(riff(chunk("LIST", "adtl" + inner + inner) + kFmt + kSound)).data.size == 400);
}

TEST_CASE("A header may have 10,000 chunks and 1 MiB of metadata in one chunk, and more is refused") {
  CHECK(walked(riff(tiny_chunks(9998) + kFmt + kSound)).data.size == 400);
  CHECK(has(refused(tiny_chunks(9999) + kFmt + kSound), "more than 10000"));
  CHECK(has(refused(chunk("LIST", "INFO" + tiny_chunks(10001)) + kFmt + kSound), "more than 10000"));
  CHECK(walked(riff(chunk("bext", std::string(1 << 20, 'x')) + kFmt + kSound)).data.size == 400);
  CHECK(
      has(refused(chunk("bext", std::string((1 << 20) + 1, 'x')) + kFmt + kSound), "1048577 bytes of metadata, which is more than 1 MiB"));
}

TEST_CASE("A file must have one format chunk before one data chunk, both inside the file") {
  CHECK(has(refused(""), "no audio"));
  CHECK(has(refused(kFmt), "no audio"));
  CHECK(has(refused(kFmt + kFmt + kSound), "second format"));
  CHECK(has(refused(kFmt + kSound + kSound), "second data"));
  CHECK(has(refused(kSound + kFmt), "before the format"));
  CHECK(has(refused(kFmt + kSound + kFmt), "after the audio"));
  CHECK(has(refused("JUNK" + le(0xF0000000U) + kFmt + kSound),
            "chunk \"JUNK\" at byte 20 claims 4026531840 bytes, which is more than the file has"));
  CHECK(has(refused(std::string("\x1b[2J") + le(4U) + "junk" + kFmt + kSound), "chunk \"\\x1B[2J\" at byte 20 is not a valid chunk"));
}

TEST_CASE("The walk ends at the first bytes that cannot be a chunk") {
  const std::string whole = riff(kFmt + kSound);
  CHECK(walked(whole).ends_with_data);
  CHECK(walked(whole + chunk("note", "four")).end == whole.size() + 12);
  CHECK_FALSE(walked(whole + chunk("note", "four")).ends_with_data);
  CHECK(walked(whole + std::string("\0\xff\0junkjunk", 11)).end == whole.size());
  CHECK(walked(whole + "note" + le(9U) + "four").end == whole.size());  // the last chunk is torn
  const auto cut = walked(riff(kFmt + data(4000, ramp(10))));
  CHECK((cut.data.size == 4000 && cut.ends_with_data && cut.end == 12 + 24 + 8 + 40));
  CHECK(walked(riff(kFmt + data(0, ramp(10)))).ends_with_data);
}

TEST_CASE("ds64 gives the size of a data chunk only if the size field of the chunk is all ones") {
  const auto sizes = walked(riff(ds64(200, 0) + kFmt + data(0xFFFFFFFFU, ramp(50))));
  CHECK((sizes.data.size == 200 && sizes.riff64_size == 7777));
  CHECK(walked(riff(ds64(100, 0) + kFmt + kSound)).data.size == 400);
  CHECK_FALSE(walked(riff(kFmt + kSound)).riff64_size);
  CHECK(has(refused(ds64(200, 0) + ds64(200, 0) + kFmt + kSound), "is a second ds64 chunk"));
  CHECK(has(refused(chunk("ds64", std::string(27, '\0')) + kFmt + kSound), "too short"));
  CHECK(has(refused(ds64(200, 1) + kFmt + kSound), "table of 1 entries"));
  CHECK(has(refused(ds64(200, 0xFFFFFFFFU) + kFmt + kSound), "table of 4294967295 entries"));
}
