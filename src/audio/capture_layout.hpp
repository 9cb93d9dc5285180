// SPDX-License-Identifier: GPL-3.0-or-later
// What the guard finds in a capture's header, before any decoder sees the file.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "evenwall/model.hpp"
#include "storage/file_bytes.hpp"

namespace evenwall::internal::audio {

inline constexpr std::uint64_t kMostMetadata = 1ULL << 20U;  ///< bytes in a chunk or block; cover pictures and cue sheets fit

enum class SampleFormat { kPcm16, kPcm24, kPcm32, kFloat32, kFloat64, kFlac };
enum class ByteOrder { kLittle, kBig };

/// Where the samples lie and what they are. `data_bytes` holds whole frames that are present; FLAC: the whole stream.
struct CaptureLayout {
  std::string container;
  SampleFormat samples = SampleFormat::kPcm16;
  ByteOrder order = ByteOrder::kLittle;
  double rate_hz = 0;
  std::uint64_t data_offset = 0;
  std::uint64_t data_bytes = 0;
  std::optional<std::int64_t> frames;  ///< none: a FLAC stream that does not say
  int flac_bits = 0;
  Warnings warnings;
};

/// Recognises the file by its first bytes and walks its header. Throws: Error(kInput) for whatever is not on the list of formats.
CaptureLayout layout_of(const storage::FileBytes& file);

// One for each family; `start` is where its magic stands (an ID3 tag may come first).
CaptureLayout riff_layout(const storage::FileBytes& file, std::uint64_t start);
CaptureLayout wave64_layout(const storage::FileBytes& file, std::uint64_t start);
CaptureLayout aiff_layout(const storage::FileBytes& file, std::uint64_t start);
CaptureLayout flac_layout(const storage::FileBytes& file, std::uint64_t start);

/// Size of one stereo frame. Requires: not FLAC.
std::uint64_t bytes_per_frame(SampleFormat samples);

/// For people: "WAV PCM 24-bit".
std::string encoding_text(const CaptureLayout& layout);

/// Throws: Error(kInput) unless two channels at 8 to 768 kHz.
void require_stereo_at_usable_rate(const storage::FileBytes& file, std::int64_t channels, double rate_hz);

/// How far the header's word on the length of the audio goes.
enum class Declared { kLength, kPlaceholder };

/// Sets data_bytes and frames from what is declared and what is there, with the warnings `truncated` and `header_not_final`.
/// Throws: Error(kInput) where no whole frame is left.
void settle_extent(CaptureLayout& layout, const storage::FileBytes& file, std::uint64_t declared_bytes, Declared trust);

/// The warning `skipped_bytes` where the file goes on behind its last chunk.
void note_rest(CaptureLayout& layout, const storage::FileBytes& file, std::uint64_t end_of_chunks);

}  // namespace evenwall::internal::audio
