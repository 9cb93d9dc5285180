// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/unpacked_source.hpp"

#include <algorithm>
#include <bit>
#include <cassert>
#include <vector>

#include "audio/exact_frames.hpp"
#include "audio/exact_source.hpp"
#include "audio/sample_file.hpp"
#include "audio/unpack.hpp"

namespace evenwall::internal::audio {
namespace {

constexpr std::int64_t kUnpackBlockFrames = 8192;  // 48 KB at 24 bits: stays in the nearer caches between reading and unpacking
constexpr std::int64_t kAheadFrames = 32768;       // read at once if a read continues the last one: fewer system calls

class UnpackedSource : public ExactSource {
 public:
  UnpackedSource(storage::Descriptor file, const CaptureLayout& layout, std::string name)
      : file_(std::move(file), std::move(name)),
        exact_(layout),
        samples_(layout.samples),
        offset_(static_cast<std::int64_t>(layout.data_offset)),
        frame_bytes_(static_cast<std::int64_t>(bytes_per_frame(layout.samples))),
        frames_(layout.frames.value_or(0)),
        info_{layout.rate_hz, 2, static_cast<double>(frames_) / layout.rate_hz, encoding_text(layout)} {}

  [[nodiscard]] const AudioInfo& info() const override { return info_; }
  [[nodiscard]] std::int64_t frames() const override { return frames_; }

  std::int64_t read(std::int64_t first, std::int64_t count, float* out) override {
    count = first < 0 ? 0 : std::clamp<std::int64_t>(frames_ - first, 0, count);
    if (count == 0) return 0;
    file_.require_unchanged(count * frame_bytes_);
    for (std::int64_t done = 0; done < count;) {
      const std::int64_t now = std::min(kUnpackBlockFrames, count - done);
      read_block(first + done, now, out + 2 * done);
      done += now;
    }
    return count;
  }

  [[nodiscard]] std::size_t exact_sample_bytes() const override { return exact_.sample_bytes(); }
  std::int64_t read_exact(std::int64_t first, std::int64_t count, std::uint8_t* out) override {
    return exact_.read(file_, first, count, out);
  }
  void require_same_file() const override { file_.require_same(); }

 private:
  void read_block(std::int64_t first, std::int64_t count, float* out) {
    if (samples_ == SampleFormat::kFloat32) {
      fetch(first, count, count, out);
      return;
    }
    const std::uint8_t* raw = bytes_of(first, count);
    const auto samples = static_cast<std::size_t>(2 * count);
    samples_ == SampleFormat::kPcm16 ? fastest_unpacking().pcm16(raw, samples, out) : fastest_unpacking().pcm24(raw, samples, out);
  }

  /// The bytes of those frames, from the buffer or from the file.
  const std::uint8_t* bytes_of(std::int64_t first, std::int64_t count) {
    if (first < raw_first_ || first + count > raw_first_ + raw_frames_) {
      const bool goes_on = first == next_;
      const std::int64_t wanted = goes_on ? std::min(kAheadFrames, frames_ - first) : count;
      raw_.resize(static_cast<std::size_t>(kAheadFrames * frame_bytes_));
      raw_frames_ = 0;
      raw_frames_ = fetch(first, wanted, count, raw_.data());
      raw_first_ = first;
    }
    next_ = first + count;
    return raw_.data() + (first - raw_first_) * frame_bytes_;
  }

  /// Returns the number of whole frames read, at least `needed`. A fault in the frames read ahead is ignored: they may never be needed.
  std::int64_t fetch(std::int64_t first, std::int64_t wanted, std::int64_t needed, void* out) const {
    int error_number = 0;
    const std::int64_t got = file_.read(offset_ + first * frame_bytes_, wanted * frame_bytes_, out, error_number) / frame_bytes_;
    if (got < needed && error_number != 0) file_.refuse_medium(first + got, error_number);
    if (got < needed) file_.refuse_short(first + got, frames_);
    return got;
  }

  SampleFile file_;
  ExactFrames exact_;
  SampleFormat samples_;
  std::int64_t offset_;
  std::int64_t frame_bytes_;
  std::int64_t frames_;
  AudioInfo info_;
  std::vector<std::uint8_t> raw_;
  std::int64_t raw_first_ = 0, raw_frames_ = 0;  // the frames in raw_
  std::int64_t next_ = -1;                       // the frame after the last read
};

}  // namespace

bool needs_no_decoder(const CaptureLayout& layout) {
  const bool plain = layout.samples == SampleFormat::kPcm16 || layout.samples == SampleFormat::kPcm24;
  const bool machine_float = layout.samples == SampleFormat::kFloat32 && std::endian::native == std::endian::little;
  return layout.order == ByteOrder::kLittle && (plain || machine_float) && layout.frames.has_value();
}

std::unique_ptr<AudioSource> unpacked_source(storage::Descriptor file, const CaptureLayout& layout, const std::string& name) {
  assert(needs_no_decoder(layout));
  return std::make_unique<UnpackedSource>(std::move(file), layout, name);
}

}  // namespace evenwall::internal::audio
