// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/decoded_source.hpp"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <cassert>
#include <cstdio>
#include <vector>

#include "audio/exact_frames.hpp"
#include "audio/exact_source.hpp"
#include "audio/sample_file.hpp"
#include "evenwall/error.hpp"

namespace evenwall::internal::audio {
namespace {

constexpr std::int64_t kDecodeBlockFrames = 16384;  // in one call of the decoder; limits the memory that it uses at a time

/// The part of the file that the decoder may read, and the error of its last read.
struct Window {
  const SampleFile* file = nullptr;
  sf_count_t offset = 0;
  sf_count_t bytes = 0;
  sf_count_t at = 0;
  int error_number = 0;
};

sf_count_t window_length(void* user) { return static_cast<Window*>(user)->bytes; }
sf_count_t window_tell(void* user) { return static_cast<Window*>(user)->at; }
sf_count_t window_write(const void*, sf_count_t, void*) { return 0; }

sf_count_t window_seek(sf_count_t offset, int whence, void* user) {
  auto& window = *static_cast<Window*>(user);
  const sf_count_t base = whence == SEEK_SET ? 0 : whence == SEEK_CUR ? window.at : window.bytes;
  window.at = std::clamp<sf_count_t>(base + offset, 0, window.bytes);
  return window.at;
}

sf_count_t window_read(void* out, sf_count_t count, void* user) {
  auto& window = *static_cast<Window*>(user);
  count = std::min(count, window.bytes - window.at);
  const sf_count_t done = window.file->read(window.offset + window.at, count, out, window.error_number);
  window.at += done;
  return done;
}

SF_VIRTUAL_IO kWindowIo{window_length, window_seek, window_read, window_write, window_tell};

struct CloseDecoder {
  void operator()(SNDFILE* decoder) const { sf_close(decoder); }
};

int sndfile_format(const CaptureLayout& layout) {
  const int order = layout.order == ByteOrder::kBig ? SF_ENDIAN_BIG : SF_ENDIAN_LITTLE;
  switch (layout.samples) {
    case SampleFormat::kPcm16:
      return SF_FORMAT_RAW | SF_FORMAT_PCM_16 | order;
    case SampleFormat::kPcm24:
      return SF_FORMAT_RAW | SF_FORMAT_PCM_24 | order;
    case SampleFormat::kPcm32:
      return SF_FORMAT_RAW | SF_FORMAT_PCM_32 | order;
    case SampleFormat::kFloat32:
      return SF_FORMAT_RAW | SF_FORMAT_FLOAT | order;
    case SampleFormat::kFloat64:
      return SF_FORMAT_RAW | SF_FORMAT_DOUBLE | order;
    case SampleFormat::kFlac:
      break;
  }
  throw Error(ErrorKind::kInternal, "libsndfile was asked for a format that it must not read. Please report this.");
}

class DecodedSource : public ExactSource {
 public:
  DecodedSource(storage::Descriptor file, const CaptureLayout& layout, std::string name)
      : file_(std::move(file), std::move(name)),
        exact_(layout),
        layout_(layout),
        window_{&file_, static_cast<sf_count_t>(layout.data_offset), static_cast<sf_count_t>(layout.data_bytes)},
        frames_(layout.frames.value_or(0)),
        info_{layout.rate_hz, 2, static_cast<double>(frames_) / layout.rate_hz, encoding_text(layout)} {
    open_decoder();
    passed_frames_ = std::clamp<std::int64_t>(frames_, 1, kDecodeBlockFrames);
    passed_.resize(static_cast<std::size_t>(2 * passed_frames_));
  }

  [[nodiscard]] const AudioInfo& info() const override { return info_; }
  [[nodiscard]] std::int64_t frames() const override { return frames_; }

  std::int64_t read(std::int64_t first, std::int64_t count, float* out) override {
    count = first < 0 ? 0 : std::clamp<std::int64_t>(frames_ - first, 0, count);
    if (count == 0) return 0;
    file_.require_unchanged(count * 8);
    if (first < first_kept_ || first > next_frame_ + kWorthPassing) go_to(first);
    for (std::int64_t done = 0; done < count;) {
      if (first + done >= next_frame_) {
        if (decode() == 0) file_.refuse_short(next_frame_, frames_);
        continue;
      }
      done += copy_kept(first + done, count - done, out + 2 * done);
    }
    return count;
  }

  [[nodiscard]] std::size_t exact_sample_bytes() const override { return exact_.sample_bytes(); }
  std::int64_t read_exact(std::int64_t first, std::int64_t count, std::uint8_t* out) override {
    return exact_.read(file_, first, count, out);
  }
  void require_same_file() const override { file_.require_same(); }

 private:
  void open_decoder() {
    window_.at = 0;
    SF_INFO info{};
    info.format = sndfile_format(layout_);
    info.channels = 2;
    info.samplerate = static_cast<int>(layout_.rate_hz);
    decoder_.reset(sf_open_virtual(&kWindowIo, SFM_READ, &info, &window_));
    if (!decoder_) refuse_medium_or(fmt::format("the decoder refuses the file ({}). Export it again.", sf_strerror(nullptr)));
  }

  /// Decodes at most kDecodeBlockFrames from the decoder's position into their place in the store. Returns 0 only at the end.
  std::int64_t decode() {
    const std::int64_t place = next_frame_ % passed_frames_;
    const sf_count_t n = sf_readf_float(decoder_.get(), passed_.data() + 2 * place, std::min(kDecodeBlockFrames, passed_frames_ - place));
    if (window_.error_number != 0 || sf_error(decoder_.get()) != SF_ERR_NO_ERROR) {
      refuse_medium_or(fmt::format("the file is damaged after frame {} ({}). Copy or record it again.",
                                   next_frame_ + std::max<sf_count_t>(n, 0), sf_strerror(decoder_.get())));
    }
    next_frame_ += n;
    first_kept_ = std::max(first_kept_, next_frame_ - passed_frames_);
    return n;
  }

  /// Copies kept frames from `first` on, at most up to the end of the store. Requires: first_kept_ <= first < next_frame_.
  std::int64_t copy_kept(std::int64_t first, std::int64_t count, float* out) const {
    const std::int64_t place = first % passed_frames_;
    const std::int64_t n = std::min({count, next_frame_ - first, passed_frames_ - place});
    std::copy_n(passed_.data() + 2 * place, 2 * n, out);
    return n;
  }

  void go_to(std::int64_t frame) {
    if (sf_seek(decoder_.get(), frame, SEEK_SET) != frame) {
      refuse_medium_or(fmt::format("frame {} cannot be reached ({}). Copy the file again.", frame, sf_strerror(decoder_.get())));
    }
    next_frame_ = first_kept_ = frame;
  }

  [[noreturn]] void refuse_medium_or(const std::string& found) const {
    if (window_.error_number != 0) file_.refuse_medium(next_frame_, window_.error_number);
    storage::refuse(file_.name(), found);
  }

  SampleFile file_;
  ExactFrames exact_;
  CaptureLayout layout_;
  Window window_;
  std::unique_ptr<SNDFILE, CloseDecoder> decoder_;
  std::int64_t frames_;
  AudioInfo info_;
  std::int64_t next_frame_ = 0;
  std::int64_t first_kept_ = 0;
  std::int64_t passed_frames_ = 0;
  std::vector<float> passed_;  // the store of the frames decoded last; frame f is at f % passed_frames_
};

}  // namespace

std::unique_ptr<AudioSource> decoded_source(storage::Descriptor file, const CaptureLayout& layout, const std::string& name) {
  assert(layout.samples != SampleFormat::kFlac && layout.frames);
  return std::make_unique<DecodedSource>(std::move(file), layout, name);
}

}  // namespace evenwall::internal::audio
