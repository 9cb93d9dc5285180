// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/chunk_walk.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>

#include "audio/capture_layout.hpp"
#include "base/text.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {
namespace {

constexpr int kMostChunks = 10000;  // a real capture has a dozen
constexpr std::size_t kDs64Bytes = 28;
constexpr std::uint32_t kSeeDs64 = 0xFFFFFFFF;

bool is_chunk_id(const std::string& id) {
  return std::all_of(id.begin(), id.end(), [](unsigned char c) { return std::isprint(c) != 0; });
}

class Walk {
 public:
  Walk(const storage::FileBytes& file, ChunkStyle style, const ChunkNames& names) : file_(file), style_(style), names_(names) {}

  WalkedChunks run(std::uint64_t first) {
    std::uint64_t at = first;
    while (const auto chunk = chunk_at(at)) {
      count(*chunk);
      if (!take(*chunk)) break;
      at = after(*chunk);
    }
    require(!walked_.data.id.empty(), "there is no audio, because there is no data chunk");
    walked_.end = walked_.ends_with_data ? file_.size() : std::min(at, file_.size());
    return walked_;
  }

 private:
  [[noreturn]] void refuse_chunk(const Chunk& chunk, const std::string& found) const {
    storage::refuse(file_.name(), fmt::format("chunk \"{}\" at byte {} {}. The file is damaged and not measured. Export it again.",
                                              base::escaped(chunk.id), chunk.offset, found));
  }
  void require(bool holds, const std::string& found) const {
    if (!holds) storage::refuse(file_.name(), found + ". The file is not measured. Export it again.");
  }
  [[nodiscard]] bool data_seen() const { return !walked_.data.id.empty(); }

  [[nodiscard]] std::optional<Chunk> chunk_at(std::uint64_t at) const {
    const std::size_t header = style_ == ChunkStyle::kWave64 ? 24 : 8;
    const std::string bytes = file_.read(at, header);
    if (bytes.size() < header) return std::nullopt;
    Chunk chunk{bytes.substr(0, 4), at + header, 0};
    if (style_ == ChunkStyle::kRiff) chunk.size = storage::little<std::uint32_t>(bytes, 4);
    if (style_ == ChunkStyle::kAiff) chunk.size = storage::big<std::uint32_t>(bytes, 4);
    if (style_ == ChunkStyle::kWave64) {
      const auto whole = storage::little<std::uint64_t>(bytes, 16);  // includes its own header
      if (whole < header && !(whole == 0 && chunk.id == names_.data)) return std::nullopt;
      chunk.size = whole == 0 ? 0 : whole - header;
    }
    if (is_chunk_id(chunk.id)) return chunk;
    if (!data_seen()) refuse_chunk(chunk, "is not a valid chunk");
    return std::nullopt;
  }

  [[nodiscard]] std::uint64_t after(const Chunk& chunk) const {
    const std::uint64_t align = style_ == ChunkStyle::kWave64 ? 8 : 2;
    return chunk.offset + (chunk.size + align - 1) / align * align;
  }

  void count(const Chunk& chunk) {
    if (++chunks_ > kMostChunks) refuse_chunk(chunk, fmt::format("is one of more than {} chunks", kMostChunks));
  }

  /// Returns false if no chunk can follow.
  bool take(const Chunk& chunk) {
    if (chunk.id == names_.data) return take_data(chunk);
    if (chunk.size > file_.left_from(chunk.offset)) {
      if (!data_seen() || chunk.id == names_.format)
        refuse_chunk(chunk, fmt::format("claims {} bytes, which is more than the file has", chunk.size));
      return false;  // a torn tail after the audio does no harm
    }
    if (chunk.size > kMostMetadata) refuse_chunk(chunk, fmt::format("has {} bytes of metadata, which is more than 1 MiB", chunk.size));
    if (chunk.id == names_.format) take_format(chunk);
    if (chunk.id == "ds64" && style_ == ChunkStyle::kRiff && !data_seen()) take_ds64(chunk);
    if (chunk.id == "LIST" && style_ == ChunkStyle::kRiff) check_list(chunk);
    return true;
  }

  void take_format(const Chunk& chunk) {
    if (data_seen()) refuse_chunk(chunk, "comes after the audio");
    if (!walked_.format.id.empty()) refuse_chunk(chunk, "is a second format chunk");
    walked_.format = chunk;
  }

  bool take_data(Chunk chunk) {
    if (data_seen()) refuse_chunk(chunk, "is a second data chunk");
    if (walked_.format.id.empty()) refuse_chunk(chunk, "comes before the format chunk");
    if (ds64_data_ && chunk.size == kSeeDs64) chunk.size = *ds64_data_;
    walked_.data = chunk;
    const std::uint64_t present = file_.left_from(chunk.offset);
    // If more than 4 GiB remain, the size has wrapped around, and the remaining bytes are audio.
    const bool wrapped = chunk.size < present && present - chunk.size > 0xFFFFFFFFULL;
    walked_.ends_with_data = chunk.size == 0 || chunk.size >= present || wrapped;
    return !walked_.ends_with_data;
  }

  void take_ds64(const Chunk& chunk) {
    if (ds64_data_) refuse_chunk(chunk, "is a second ds64 chunk");
    if (chunk.size < kDs64Bytes) refuse_chunk(chunk, "is too short");
    const std::string body = file_.read(chunk.offset, kDs64Bytes);
    const std::uint64_t table_entries = storage::little<std::uint32_t>(body, 24);
    if (table_entries * 12 > chunk.size - kDs64Bytes)
      refuse_chunk(chunk, fmt::format("claims a table of {} entries, which it cannot hold", table_entries));
    walked_.riff64_size = storage::little<std::uint64_t>(body, 0);
    ds64_data_ = storage::little<std::uint64_t>(body, 8);
  }

  void check_list(const Chunk& list) {
    const std::uint64_t end = list.offset + list.size;
    for (std::uint64_t at = list.offset + 4; at + 8 <= end;) {
      const std::string bytes = file_.read(at, 8);
      if (bytes.size() < 8) break;
      const Chunk part{bytes.substr(0, 4), at + 8, storage::little<std::uint32_t>(bytes, 4)};
      count(part);
      if (part.size > end - part.offset)
        refuse_chunk(part, fmt::format("claims {} bytes, which is more than the LIST around it has", part.size));
      at = after(part);
    }
  }

  const storage::FileBytes& file_;
  ChunkStyle style_;
  ChunkNames names_;
  WalkedChunks walked_;
  std::optional<std::uint64_t> ds64_data_;
  int chunks_ = 0;
};

}  // namespace

WalkedChunks walk_chunks(const storage::FileBytes& file, ChunkStyle style, std::uint64_t first, const ChunkNames& names) {
  return Walk(file, style, names).run(first);
}

}  // namespace evenwall::internal::audio
