// SPDX-License-Identifier: GPL-3.0-or-later
// Reads the header of a FLAC stream.
#include <fmt/format.h>

#include "audio/capture_layout.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {
namespace {

constexpr std::size_t kBlockHeader = 4;
constexpr std::size_t kStreamInfo = 34;
constexpr int kMostBlocks = 10000;
constexpr std::uint64_t kAllOnes = (1ULL << 36U) - 1;  // a total that was never filled in

/// The offset after the last metadata block.
std::uint64_t walk_blocks(const storage::FileBytes& file, std::uint64_t at) {
  for (int block = 0; block < kMostBlocks; ++block) {
    const std::string header = file.read(at, kBlockHeader);
    if (header.size() < kBlockHeader)
      storage::refuse(file.name(), "there is no audio, because the FLAC header is cut off. Record it again.");
    const auto first = static_cast<unsigned char>(header[0]);
    const std::uint64_t size = storage::big<std::uint32_t>(header, 0) & 0xFFFFFFU;
    if ((first & 0x7FU) == 0x7FU)
      storage::refuse(file.name(), "a FLAC metadata block is of a forbidden type. The file is not measured. Export it again.");
    if (block > 0 && (first & 0x7FU) == 0)
      storage::refuse(file.name(), "the FLAC stream information appears twice. The file is not measured. Export it again.");
    if (size > kMostMetadata) {
      storage::refuse(
          file.name(),
          fmt::format("a FLAC metadata block has {} bytes, more than 1 MiB. The file is not measured. Remove its pictures and tags.",
                      size));
    }
    at += kBlockHeader + size;
    if (first & 0x80U) return at;
  }
  storage::refuse(
      file.name(),
      fmt::format("the file has more than {} FLAC metadata blocks. It is not measured. Remove its pictures and tags.", kMostBlocks));
}

}  // namespace

CaptureLayout flac_layout(const storage::FileBytes& file, std::uint64_t start) {
  const std::string head = file.read(start, 4 + kBlockHeader + kStreamInfo);
  const bool has_info = head.size() == 4 + kBlockHeader + kStreamInfo && (head[4] & 0x7F) == 0 &&
                        (storage::big<std::uint32_t>(head, 4) & 0xFFFFFFU) == kStreamInfo;
  if (!has_info) storage::refuse(file.name(), "the FLAC file begins without its stream information. It is not measured. Export it again.");
  if (file.left_from(walk_blocks(file, start + 4)) == 0)
    storage::refuse(file.name(), "there is no audio after the FLAC header. The file is not measured. Record it again.");
  const auto packed = storage::big<std::uint64_t>(head, 4 + kBlockHeader + 10);  // rate: 20 bits, channels − 1: 3, bits − 1: 5, total: 36
  CaptureLayout layout;
  layout.container = "FLAC";
  layout.samples = SampleFormat::kFlac;
  layout.rate_hz = static_cast<double>(packed >> 44U);
  layout.flac_bits = static_cast<int>((packed >> 36U) & 0x1FU) + 1;
  require_stereo_at_usable_rate(file, static_cast<std::int64_t>((packed >> 41U) & 7U) + 1, layout.rate_hz);
  // The decoder supports 8, 16 and 24 bits; 8 bits are too coarse for crosstalk.
  if (layout.flac_bits != 16 && layout.flac_bits != 24) {
    storage::refuse(file.name(),
                    fmt::format("the file is {}-bit FLAC. It is not measured. Export it with 16 or 24 bits.", layout.flac_bits));
  }
  const std::uint64_t total = packed & kAllOnes;
  if (total != 0 && total != kAllOnes) layout.frames = static_cast<std::int64_t>(total);
  layout.data_offset = start;
  layout.data_bytes = file.left_from(start);
  return layout;
}

}  // namespace evenwall::internal::audio
