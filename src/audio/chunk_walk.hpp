// SPDX-License-Identifier: GPL-3.0-or-later
// Finds the chunks of RIFF, W64 and AIFF files, in 64-bit arithmetic and by the strictest reading of the formats.
#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "storage/file_bytes.hpp"

namespace evenwall::internal::audio {

enum class ChunkStyle { kRiff, kWave64, kAiff };

struct Chunk {
  std::string id;            ///< four characters; W64: the first four of its GUID
  std::uint64_t offset = 0;  ///< of the body
  std::uint64_t size = 0;    ///< of the body, as declared
};

struct ChunkNames {
  std::string format;
  std::string data;
};

struct WalkedChunks {
  Chunk format;
  Chunk data;                                ///< size as declared; in RF64, as declared by ds64
  std::optional<std::uint64_t> riff64_size;  ///< as declared by ds64
  std::uint64_t end = 0;        ///< offset at which the walk ended: the file size, or the first byte after the last whole chunk
  bool ends_with_data = false;  ///< the data chunk is open-ended, or reaches at least to the end of the file
};

/// Walks from the first chunk to the end of the file. Accepts exactly one format chunk before exactly one data chunk, LIST sub-chunks
/// inside their parent, at most 10,000 chunks, and at most 1 MiB in any chunk but the data.
/// Throws: Error(kInput) with the chunk's name.
WalkedChunks walk_chunks(const storage::FileBytes& file, ChunkStyle style, std::uint64_t first, const ChunkNames& names);

}  // namespace evenwall::internal::audio
