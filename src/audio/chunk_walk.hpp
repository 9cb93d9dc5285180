// SPDX-License-Identifier: GPL-3.0-or-later
// The chunks of RIFF, W64 and AIFF files, walked in 64-bit arithmetic and under the strictest reading.
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
  Chunk data;                                ///< size as declared, RF64: by ds64
  std::optional<std::uint64_t> riff64_size;  ///< by ds64
  std::uint64_t end = 0;                     ///< where the walk ended: file size, or the first byte that is no chunk
  bool ends_with_data = false;               ///< the data chunk is open-ended, or longer than the file
};

/// Walks from the first chunk to `end` of the file. Exactly one format chunk before exactly one data chunk, LIST sub-chunks inside their
/// parent, at most 10,000 chunks, at most 1 MiB in any chunk but the data.
/// Throws: Error(kInput) naming the chunk.
WalkedChunks walk_chunks(const storage::FileBytes& file, ChunkStyle style, std::uint64_t first, const ChunkNames& names);

}  // namespace evenwall::internal::audio
