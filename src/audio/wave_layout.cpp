// SPDX-License-Identifier: GPL-3.0-or-later
// Reads the headers of RIFF, RF64 and W64 files, which share one format chunk.
#include <fmt/format.h>

#include "audio/capture_layout.hpp"
#include "audio/chunk_walk.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {
namespace {

constexpr std::uint16_t kPcm = 1;
constexpr std::uint16_t kFloat = 3;
constexpr std::uint16_t kExtensible = 0xFFFE;
constexpr std::size_t kPlainFormat = 16;       // bytes
constexpr std::size_t kExtensibleFormat = 40;  // bytes
// Bytes 2 to 15 of the sub-format GUIDs that represent a plain format tag.
constexpr std::string_view kTagGuid{"\x00\x00\x00\x00\x10\x00\x80\x00\x00\xaa\x00\x38\x9b\x71", 14};

const char* codec_name(std::uint16_t tag) {
  switch (tag) {
    case 2:
      return "Microsoft ADPCM";
    case 6:
      return "A-law";
    case 7:
      return "µ-law";
    case 0x11:
      return "IMA ADPCM";
    case 0x31:
      return "GSM 6.10";
    case 0x50:
      return "MPEG layer 2";
    case 0x55:
      return "MP3";
    default:
      return "another codec";
  }
}

std::uint16_t plain_tag(const storage::FileBytes& file, const std::string& format) {
  const auto tag = storage::little<std::uint16_t>(format, 0);
  if (tag != kExtensible) return tag;
  if (format.size() < kExtensibleFormat || storage::little<std::uint16_t>(format, 16) < 22) {
    storage::refuse(file.name(), "the extensible format chunk is too short. The file is not measured. Export it again.");
  }
  if (format.substr(26, 14) != kTagGuid)
    storage::refuse(file.name(), "the extensible format chunk names an unknown codec. The file is not measured. Export it as PCM.");
  const auto valid_bits = storage::little<std::uint16_t>(format, 18);
  if (valid_bits > storage::little<std::uint16_t>(format, 14))
    storage::refuse(file.name(), "the header declares more valid bits than the samples have. The file is not measured. Export it again.");
  return storage::little<std::uint16_t>(format, 24);
}

SampleFormat sample_format(const storage::FileBytes& file, std::uint16_t tag, unsigned bits) {
  if (tag == kPcm && bits == 16) return SampleFormat::kPcm16;
  if (tag == kPcm && bits == 24) return SampleFormat::kPcm24;
  if (tag == kPcm && bits == 32) return SampleFormat::kPcm32;
  if (tag == kFloat && bits == 32) return SampleFormat::kFloat32;
  if (tag == kFloat && bits == 64) return SampleFormat::kFloat64;
  if (tag != kPcm && tag != kFloat) {
    storage::refuse(file.name(),
                    fmt::format("the samples are coded as {} (format tag {:#06x}). The file is not measured. Export it as PCM or float.",
                                codec_name(tag), tag));
  }
  storage::refuse(
      file.name(),
      fmt::format("the samples are {}-bit {}. The file is not measured. Export it as PCM (16, 24 or 32 bits) or float (32 or 64 bits).",
                  bits, tag == kPcm ? "PCM" : "float"));
}

CaptureLayout read_format(const storage::FileBytes& file, const WalkedChunks& walked, std::string container) {
  const std::string format =
      file.read(walked.format.offset, static_cast<std::size_t>(std::min<std::uint64_t>(walked.format.size, kExtensibleFormat)));
  if (format.size() < kPlainFormat)
    storage::refuse(file.name(), "the format chunk is too short. The file is not measured. Export it again.");
  CaptureLayout layout;
  layout.container = std::move(container);
  const auto channels = storage::little<std::uint16_t>(format, 2);
  const auto rate_hz = storage::little<std::uint32_t>(format, 4);
  const auto bits = storage::little<std::uint16_t>(format, 14);
  layout.samples = sample_format(file, plain_tag(file, format), bits);
  require_stereo_at_usable_rate(file, channels, rate_hz);
  layout.rate_hz = rate_hz;
  const auto frame_bytes = storage::little<std::uint16_t>(format, 12);
  const auto rate_bytes = storage::little<std::uint32_t>(format, 8);
  if (frame_bytes != bytes_per_frame(layout.samples)) {
    storage::refuse(
        file.name(),
        fmt::format("the header states {} bytes per frame, but two channels of {} bits have {}. The file is not measured. Export it again.",
                    frame_bytes, bits, bytes_per_frame(layout.samples)));
  }
  if (rate_bytes != std::uint64_t{rate_hz} * frame_bytes) {
    storage::refuse(
        file.name(),
        fmt::format("the header states {} bytes per second, but its rate and frame give {}. The file is not measured. Export it again.",
                    rate_bytes, std::uint64_t{rate_hz} * frame_bytes));
  }
  layout.data_offset = walked.data.offset;
  return layout;
}

/// Whether programs write this size if they cannot return to the header: all ones, or just below 2 GiB. (Seen in sox, ffmpeg; arecord
/// from memory.)
bool is_placeholder_32(std::uint64_t size) {
  return (size >= 0x7FFF0000 && size <= 0x7FFFFFFF) || (size >= 0xFFFF0000 && size <= 0xFFFFFFFF);
}

constexpr std::uint64_t kAbsurd = 1ULL << 62U;  // bytes; no medium holds so many

/// For a data chunk of size 0: the header is unfinished if the outer size does not fit the file either; otherwise there is no audio.
void settle_zero(CaptureLayout& layout, const storage::FileBytes& file, std::uint64_t outer_end) {
  const std::uint64_t present = file.left_from(layout.data_offset);
  const bool outer_fits = outer_end == file.size() || outer_end + 1 == file.size();
  if (outer_fits)
    storage::refuse(file.name(), fmt::format("there is no audio: 0 frames are declared, {} bytes are present. Export it again.", present));
  settle_extent(layout, file, 0, Declared::kPlaceholder);
}

void settle_wrapped(CaptureLayout& layout, const storage::FileBytes& file, std::uint64_t declared) {
  const std::uint64_t present = file.left_from(layout.data_offset);
  const std::uint64_t length = declared + ((present - declared) >> 32U << 32U);
  settle_extent(layout, file, length, Declared::kLength);
  layout.warnings.push_back(
      {WarningCode::kHeaderNotFinal, fmt::format("{}: the file has more than 4 GiB, which the header cannot state (it declares {} bytes). "
                                                 "{} bytes are measured as audio. Record such files as RF64.",
                                                 file.name(), declared, length)});
}

}  // namespace

CaptureLayout riff_layout(const storage::FileBytes& file, std::uint64_t start) {
  const std::string head = file.read(start, 12);
  if (head.size() < 12 || head.substr(8) != "WAVE")
    storage::refuse(file.name(), "the RIFF file holds no WAVE audio. The file is not measured. Give a WAV, RF64, W64, AIFF or FLAC file.");
  const bool rf64 = head.starts_with("RF64");
  const WalkedChunks walked = walk_chunks(file, ChunkStyle::kRiff, start + 12, {"fmt ", "data"});
  if (rf64 && !walked.riff64_size)
    storage::refuse(file.name(), "the RF64 file has no ds64 chunk before the audio. It is not measured. Export it again.");
  CaptureLayout layout = read_format(file, walked, rf64 ? "RF64" : "WAV");
  const std::uint64_t declared = walked.data.size;
  const std::uint64_t present = file.left_from(layout.data_offset);
  const std::uint64_t outer = rf64 ? *walked.riff64_size : storage::little<std::uint32_t>(head, 4);
  if (declared == 0) {
    settle_zero(layout, file, start + outer + 8);
  } else if (declared > present && (is_placeholder_32(declared) || declared >= kAbsurd)) {
    settle_extent(layout, file, declared, Declared::kPlaceholder);
  } else if (!rf64 && declared < present && present - declared > 0xFFFFFFFFULL) {
    settle_wrapped(layout, file, declared);
  } else {
    settle_extent(layout, file, declared, Declared::kLength);
    note_rest(layout, file, walked.end);
  }
  return layout;
}

CaptureLayout wave64_layout(const storage::FileBytes& file, std::uint64_t start) {
  const std::string head = file.read(start, 40);
  if (head.size() < 40 || head.substr(24, 4) != "wave")
    storage::refuse(file.name(), "the W64 file holds no audio. It is not measured. Export it again.");
  const WalkedChunks walked = walk_chunks(file, ChunkStyle::kWave64, start + 40, {"fmt ", "data"});
  CaptureLayout layout = read_format(file, walked, "W64");
  if (walked.data.size == 0) {
    settle_zero(layout, file, start + storage::little<std::uint64_t>(head, 16));
  } else if (walked.data.size >= kAbsurd) {
    settle_extent(layout, file, walked.data.size, Declared::kPlaceholder);
  } else {
    settle_extent(layout, file, walked.data.size, Declared::kLength);
    note_rest(layout, file, walked.end);
  }
  return layout;
}

}  // namespace evenwall::internal::audio
