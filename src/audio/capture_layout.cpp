// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/capture_layout.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>

#include "base/counted.hpp"
#include "base/magic_bytes.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {
namespace {

constexpr double kLowestRate = 8000;     // Hz; a lower rate cannot hold a 1 kHz tone with harmonics
constexpr double kHighestRate = 768000;  // Hz; the rate of the fastest converters made
constexpr double kTold_hz = 1e9;         // messages show no higher rate: AIFF's 80-bit numbers exceed any double
constexpr std::size_t kMagicBytes = 16;
constexpr std::size_t kId3Header = 10;
constexpr std::uint64_t kLargestTag = 1 << 20;  // bytes of metadata before the audio
constexpr const char* kAccepted = "The file is not measured. Give a WAV, RF64, W64, AIFF or FLAC file.";

/// Bytes of an ID3v2 tag at the start; 0 if there is no tag.
std::uint64_t id3_bytes(const std::string& head) {
  if (!head.starts_with("ID3") || head.size() < kId3Header) return 0;
  std::uint64_t size = 0;
  for (std::size_t i = 6; i < kId3Header; ++i) size = (size << 7U) | (static_cast<unsigned char>(head[i]) & 0x7FU);
  return size + kId3Header;
}

CaptureLayout layout_at(const storage::FileBytes& file, std::uint64_t start) {
  const std::string head = file.read(start, kMagicBytes);
  if (head.empty()) storage::refuse(file.name(), "there is no audio, because the file is empty. Record it again.");
  if (head.starts_with("RIFF") || head.starts_with("RF64")) return riff_layout(file, start);
  if (head.starts_with("riff\x2e\x91\xcf\x11")) return wave64_layout(file, start);
  if (head.starts_with("FORM")) return aiff_layout(file, start);
  if (head.starts_with("fLaC")) return flac_layout(file, start);
  storage::refuse(file.name(), fmt::format("the content of the file is {}. {}", base::content_name(head), kAccepted));
}

/// Text on an incomplete frame at the end: besides a cut-off end, samples of one channel may be missing from some point on.
std::string part_of_frame_text(const storage::FileBytes& file, std::uint64_t rest, std::uint64_t frame, std::uint64_t declared) {
  return fmt::format(
      "{}: the last frame has {} of {} bytes, because {} bytes of audio are declared. This frame is not measured. If bytes are missing "
      "earlier in the file, the channels are shifted from there on, and left and right may be swapped. Compare the driven channels of the "
      "passages with the record. Then copy or export the file again.",
      file.name(), rest, frame, declared);
}

}  // namespace

CaptureLayout layout_of(const storage::FileBytes& file) {
  const std::uint64_t tag = id3_bytes(file.read(0, kId3Header));
  if (tag == 0) return layout_at(file, 0);
  if (tag > kLargestTag || tag >= file.size()) {
    storage::refuse(
        file.name(),
        fmt::format("the file begins with an ID3 tag of {} bytes. Such a tag may have at most 1 MiB, and audio must follow it. {}", tag,
                    kAccepted));
  }
  CaptureLayout layout = layout_at(file, tag);
  layout.warnings.push_back(
      {WarningCode::kSkippedBytes,
       fmt::format("{}: there is an ID3 tag of {} bytes before the audio. It is skipped. To avoid this warning, export without tags.",
                   file.name(), tag)});
  return layout;
}

std::uint64_t bytes_per_frame(SampleFormat samples) {
  assert(samples != SampleFormat::kFlac);
  switch (samples) {
    case SampleFormat::kPcm16:
      return 4;
    case SampleFormat::kPcm24:
      return 6;
    case SampleFormat::kFloat64:
      return 16;
    default:
      return 8;
  }
}

std::string encoding_text(const CaptureLayout& layout) {
  switch (layout.samples) {
    case SampleFormat::kPcm16:
      return layout.container + " PCM 16-bit";
    case SampleFormat::kPcm24:
      return layout.container + " PCM 24-bit";
    case SampleFormat::kPcm32:
      return layout.container + " PCM 32-bit";
    case SampleFormat::kFloat32:
      return layout.container + " float 32-bit";
    case SampleFormat::kFloat64:
      return layout.container + " float 64-bit";
    case SampleFormat::kFlac:
      break;
  }
  return fmt::format("FLAC {}-bit", layout.flac_bits);
}

void require_stereo_at_usable_rate(const storage::FileBytes& file, std::int64_t channels, double rate_hz) {
  if (channels == 1) storage::refuse(file.name(), "the recording has one channel, so no crosstalk can be measured. Record both channels.");
  if (channels != 2) {
    storage::refuse(file.name(),
                    fmt::format("the recording has {} channels. It is not measured. Export two channels, left first.", channels));
  }
  if (!(rate_hz >= kLowestRate && rate_hz <= kHighestRate)) {
    const std::string seen = rate_hz > kTold_hz ? fmt::format("more than {}", kTold_hz) : fmt::format("{}", rate_hz);
    storage::refuse(file.name(),
                    fmt::format("the recording has a sample rate of {} Hz. It is not measured. Record at 8000 to 768000 Hz.", seen));
  }
}

void note_rest(CaptureLayout& layout, const storage::FileBytes& file, std::uint64_t end_of_chunks) {
  const std::uint64_t rest = file.left_from(end_of_chunks);
  if (rest == 0) return;
  layout.warnings.push_back({WarningCode::kSkippedBytes, fmt::format("{}: {}. To avoid this warning, export without tags.", file.name(),
                                                                     base::counted(rest, "byte follows the declared audio. It is skipped",
                                                                                   "bytes follow the declared audio. They are skipped"))});
}

void settle_extent(CaptureLayout& layout, const storage::FileBytes& file, std::uint64_t declared_bytes, Declared trust) {
  const std::uint64_t present = file.left_from(layout.data_offset);
  const std::uint64_t frame = bytes_per_frame(layout.samples);
  const std::uint64_t bytes = trust == Declared::kPlaceholder ? present : std::min(declared_bytes, present);
  if (bytes < frame) {
    storage::refuse(file.name(), fmt::format("there is no audio: {}, {}. Record it again.",
                                             base::counted(declared_bytes, "byte is declared", "bytes are declared"),
                                             base::counted(present, "is present", "are present")));
  }
  layout.data_bytes = bytes - bytes % frame;
  layout.frames = static_cast<std::int64_t>(layout.data_bytes / frame);
  if (trust == Declared::kPlaceholder) {
    layout.warnings.push_back(
        {WarningCode::kHeaderNotFinal,
         fmt::format("{}: the header was never finished. The {} bytes present are measured as audio. Stop the recorder properly.",
                     file.name(), present)});
  } else if (declared_bytes > present) {
    layout.warnings.push_back(
        {WarningCode::kTruncated,
         fmt::format("{}: {} bytes of audio are declared, {} are present. Those present are measured. Copy or export the file again.",
                     file.name(), declared_bytes, present)});
  } else if (bytes % frame != 0) {
    layout.warnings.push_back({WarningCode::kTruncated, part_of_frame_text(file, bytes % frame, frame, declared_bytes)});
  }
}

}  // namespace evenwall::internal::audio
