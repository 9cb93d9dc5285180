// SPDX-License-Identifier: GPL-3.0-or-later
// Reads and checks a capture's header before any decoder sees the file.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "evenwall/model.hpp"
#include "storage/file_bytes.hpp"

namespace evenwall::internal::audio {

inline constexpr std::uint64_t kMostMetadata = 1ULL << 20U;  ///< bytes in a chunk or block; enough for cover pictures and cue sheets

enum class SampleFormat { kPcm16, kPcm24, kPcm32, kFloat32, kFloat64, kFlac };
enum class ByteOrder { kLittle, kBig };

/// Position and format of the samples. `data_bytes` covers the whole frames that are present; for FLAC, the whole stream.
struct CaptureLayout {
  std::string container;
  SampleFormat samples = SampleFormat::kPcm16;
  ByteOrder order = ByteOrder::kLittle;
  double rate_hz = 0;
  std::uint64_t data_offset = 0;
  std::uint64_t data_bytes = 0;
  std::optional<std::int64_t> frames;  ///< empty if a FLAC stream does not state it
  int flac_bits = 0;
  Warnings warnings;
};

/// Recognises the file by its first bytes and reads its header. Throws: Error(kInput) if the format is not on the list of formats.
CaptureLayout layout_of(const storage::FileBytes& file);

// One function for each family of formats; `start` is the offset of its magic bytes (an ID3 tag may come first).
CaptureLayout riff_layout(const storage::FileBytes& file, std::uint64_t start);
CaptureLayout wave64_layout(const storage::FileBytes& file, std::uint64_t start);
CaptureLayout aiff_layout(const storage::FileBytes& file, std::uint64_t start);
CaptureLayout flac_layout(const storage::FileBytes& file, std::uint64_t start);

/// Size of one stereo frame. Requires: not FLAC.
std::uint64_t bytes_per_frame(SampleFormat samples);

/// The encoding as text for messages, for example "WAV PCM 24-bit".
std::string encoding_text(const CaptureLayout& layout);

/// Throws: Error(kInput) unless there are two channels and the sample rate is 8 to 768 kHz.
void require_stereo_at_usable_rate(const storage::FileBytes& file, std::int64_t channels, double rate_hz);

/// Whether the header declares a real length of the audio or only a placeholder.
enum class Declared { kLength, kPlaceholder };

/// Sets data_bytes and frames from the declared and the present length, and adds the warnings `truncated` and `header_not_final`.
/// Throws: Error(kInput) if no whole frame remains.
void settle_extent(CaptureLayout& layout, const storage::FileBytes& file, std::uint64_t declared_bytes, Declared trust);

/// Adds the warning `skipped_bytes` if the file continues after its last chunk.
void note_rest(CaptureLayout& layout, const storage::FileBytes& file, std::uint64_t end_of_chunks);

}  // namespace evenwall::internal::audio
