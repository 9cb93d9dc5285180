// SPDX-License-Identifier: GPL-3.0-or-later
// Reads the header of an AIFF or AIFC file.
#include <fmt/format.h>

#include <cmath>

#include "audio/capture_layout.hpp"
#include "audio/chunk_walk.hpp"
#include "base/text.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {
namespace {

constexpr std::size_t kCommonBytes = 18;      // length of COMM in AIFF
constexpr std::size_t kCompressedBytes = 22;  // length of COMM in AIFC up to the codec
constexpr std::uint64_t kSoundHeader = 8;     // offset and block size at the start of SSND

/// Reads an 80-bit extended number of the AIFF header. Returns 0 unless the number is positive and finite.
double extended(const std::string& bytes, std::size_t at) {
  const auto sign_exponent = storage::big<std::uint16_t>(bytes, at);
  const auto mantissa = storage::big<std::uint64_t>(bytes, at + 2);
  if (sign_exponent >= 0x7FFF) return 0;
  return std::ldexp(static_cast<double>(mantissa), static_cast<int>(sign_exponent) - 16383 - 63);
}

struct Codec {
  std::string_view id;
  ByteOrder order;
  bool floating;
};
constexpr Codec kCodecs[] = {{"NONE", ByteOrder::kBig, false}, {"twos", ByteOrder::kBig, false},    {"in24", ByteOrder::kBig, false},
                             {"in32", ByteOrder::kBig, false}, {"sowt", ByteOrder::kLittle, false}, {"fl32", ByteOrder::kBig, true},
                             {"FL32", ByteOrder::kBig, true},  {"fl64", ByteOrder::kBig, true},     {"FL64", ByteOrder::kBig, true}};

const Codec& codec_of(const storage::FileBytes& file, const std::string& common, bool compressed) {
  if (!compressed) return kCodecs[0];
  if (common.size() < kCompressedBytes)
    storage::refuse(file.name(), "the COMM chunk is too short. The file is not measured. Export it again.");
  for (const Codec& codec : kCodecs) {
    if (common.substr(18, 4) == codec.id) return codec;
  }
  storage::refuse(file.name(), fmt::format("the samples are coded as \"{}\". The file is not measured. Export it as PCM or float.",
                                           base::escaped(common.substr(18, 4))));
}

SampleFormat sample_format(const storage::FileBytes& file, const Codec& codec, unsigned bits) {
  // Writers of fl32 and fl64 disagree on the bits they state; the codec decides.
  if (codec.floating) return codec.id.ends_with("32") ? SampleFormat::kFloat32 : SampleFormat::kFloat64;
  if (bits == 16) return SampleFormat::kPcm16;
  if (bits == 24) return SampleFormat::kPcm24;
  if (bits == 32) return SampleFormat::kPcm32;
  storage::refuse(file.name(),
                  fmt::format("the samples have {} bits. The file is not measured. Export it as PCM of 16, 24 or 32 bits.", bits));
}

}  // namespace

CaptureLayout aiff_layout(const storage::FileBytes& file, std::uint64_t start) {
  const std::string head = file.read(start, 12);
  const bool compressed = head.ends_with("AIFC");
  if (head.size() < 12 || !(compressed || head.ends_with("AIFF")))
    storage::refuse(file.name(), "the FORM file holds no AIFF audio. The file is not measured. Give a WAV, RF64, W64, AIFF or FLAC file.");
  const WalkedChunks walked = walk_chunks(file, ChunkStyle::kAiff, start + 12, {"COMM", "SSND"});
  const std::string common =
      file.read(walked.format.offset, static_cast<std::size_t>(std::min<std::uint64_t>(walked.format.size, kCompressedBytes)));
  if (common.size() < kCommonBytes) storage::refuse(file.name(), "the COMM chunk is too short. The file is not measured. Export it again.");
  CaptureLayout layout;
  layout.container = compressed ? "AIFC" : "AIFF";
  const Codec& codec = codec_of(file, common, compressed);
  layout.order = codec.order;
  layout.samples = sample_format(file, codec, storage::big<std::uint16_t>(common, 6));
  layout.rate_hz = extended(common, 8);
  require_stereo_at_usable_rate(file, storage::big<std::uint16_t>(common, 0), layout.rate_hz);
  const std::string sound = file.read(walked.data.offset, kSoundHeader);
  if (sound.size() < kSoundHeader)
    storage::refuse(file.name(), "there is no audio after the header. The file is not measured. Record it again.");
  const std::uint64_t offset = storage::big<std::uint32_t>(sound, 0);
  const bool streamed = walked.data.size >= 0x7FFF0000 && walked.data.size > file.left_from(walked.data.offset);  // as written to pipes
  const bool open_ended = walked.data.size == 0 || streamed;
  if (!open_ended && offset + kSoundHeader > walked.data.size)
    storage::refuse(file.name(), "the offset in the SSND chunk lies outside the chunk. The file is not measured. Export it again.");
  layout.data_offset = walked.data.offset + kSoundHeader + offset;
  const std::uint64_t declared = open_ended ? 0 : walked.data.size - kSoundHeader - offset;
  const std::uint64_t in_common = storage::big<std::uint32_t>(common, 2) * bytes_per_frame(layout.samples);
  settle_extent(layout, file, declared, open_ended ? Declared::kPlaceholder : Declared::kLength);
  if (!open_ended) note_rest(layout, file, walked.end);
  if (!open_ended && in_common != declared - declared % bytes_per_frame(layout.samples)) {
    layout.warnings.push_back(
        {WarningCode::kHeaderNotFinal, fmt::format("{}: the header declares {} bytes of audio in one place and {} in another. {} bytes are "
                                                   "measured. Stop the recorder properly, or export the file again.",
                                                   file.name(), in_common, declared, layout.data_bytes)});
  }
  return layout;
}

}  // namespace evenwall::internal::audio
