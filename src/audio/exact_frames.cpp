// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/exact_frames.hpp"

#include <algorithm>
#include <cassert>

namespace evenwall::internal::audio {
namespace {

/// Puts the samples into the upper bytes of wider little-endian ones. The widths are constants, so that the compiler unrolls the loops.
template <std::size_t kFrom, std::size_t kTo>
void widen(const std::uint8_t* bytes, std::size_t count, ByteOrder order, std::uint8_t* out) {
  constexpr std::size_t kZeros = kTo - kFrom;
  const bool little = order == ByteOrder::kLittle;
  for (std::size_t i = 0; i < count; ++i, bytes += kFrom, out += kTo) {
    for (std::size_t k = 0; k < kZeros; ++k) out[k] = 0;
    for (std::size_t k = 0; k < kFrom; ++k) out[kZeros + k] = bytes[little ? k : kFrom - 1 - k];
  }
}

constexpr float kFullScale32 = 2147483648.0F;  // 2^31

}  // namespace

void exact_samples(const std::uint8_t* bytes, std::size_t count, SampleFormat samples, ByteOrder order, std::uint8_t* out) {
  assert(samples != SampleFormat::kFlac);
  switch (samples) {
    case SampleFormat::kPcm16:
      return widen<2, 4>(bytes, count, order, out);
    case SampleFormat::kPcm24:
      return widen<3, 4>(bytes, count, order, out);
    case SampleFormat::kFloat64:
      return widen<8, 8>(bytes, count, order, out);
    default:
      return widen<4, 4>(bytes, count, order, out);
  }
}

void exact_integers(const float* samples, std::size_t count, std::uint8_t* out) {
  for (std::size_t i = 0; i < count; ++i, out += 4) {
    const auto value = static_cast<std::uint64_t>(static_cast<std::int64_t>(kFullScale32 * samples[i]));
    for (std::size_t k = 0; k < 4; ++k) out[k] = static_cast<std::uint8_t>(value >> (8 * k));
  }
}

ExactFrames::ExactFrames(const CaptureLayout& layout)
    : samples_(layout.samples),
      order_(layout.order),
      offset_(static_cast<std::int64_t>(layout.data_offset)),
      frame_bytes_(static_cast<std::int64_t>(bytes_per_frame(layout.samples))),
      frames_(layout.frames.value_or(0)) {}

std::int64_t ExactFrames::read(SampleFile& file, std::int64_t first, std::int64_t count, std::uint8_t* out) {
  count = first < 0 ? 0 : std::clamp<std::int64_t>(frames_ - first, 0, count);
  if (count == 0) return 0;
  file.require_unchanged(count * frame_bytes_);
  raw_.resize(static_cast<std::size_t>(count * frame_bytes_));
  int error_number = 0;
  const std::int64_t got = file.read(offset_ + first * frame_bytes_, count * frame_bytes_, raw_.data(), error_number) / frame_bytes_;
  if (got < count && error_number != 0) file.refuse_medium(first + got, error_number);
  if (got < count) file.refuse_short(first + got, frames_);
  exact_samples(raw_.data(), static_cast<std::size_t>(2 * count), samples_, order_, out);
  return count;
}

}  // namespace evenwall::internal::audio
