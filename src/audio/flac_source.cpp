// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/flac_source.hpp"

#include <FLAC/stream_decoder.h>
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <new>
#include <utility>
#include <vector>

#include "audio/exact_frames.hpp"
#include "audio/exact_source.hpp"
#include "audio/passed_frames.hpp"
#include "audio/sample_file.hpp"

namespace evenwall::internal::audio {
namespace {

// 21.3 s at 96 kHz and 42 bits a frame, 20.4 s at 44 bits: room for a passage of 20 s and the sound that shows its end.
constexpr std::size_t kPassed_bytes = 10'747'904;

struct DeleteDecoder {
  void operator()(FLAC__StreamDecoder* decoder) const { FLAC__stream_decoder_delete(decoder); }
};

class FlacSource : public ExactSource {
 public:
  FlacSource(storage::Descriptor file, const CaptureLayout& layout, std::string name)
      : file_(std::move(file), std::move(name)),
        offset_(static_cast<std::int64_t>(layout.data_offset)),
        bytes_(static_cast<std::int64_t>(layout.data_bytes)),
        bits_(static_cast<unsigned>(layout.flac_bits)),
        scale_(std::ldexp(1.0F, 1 - layout.flac_bits)),
        passed_(kPassed_bytes) {
    open_decoder();
    frames_ = layout.frames ? *layout.frames : count_frames();
    info_ = {layout.rate_hz, 2, static_cast<double>(frames_) / layout.rate_hz, encoding_text(layout)};
  }
  FlacSource(const FlacSource&) = delete;  // the decoder holds a pointer to this object
  FlacSource& operator=(const FlacSource&) = delete;

  [[nodiscard]] const AudioInfo& info() const override { return info_; }
  [[nodiscard]] std::int64_t frames() const override { return frames_; }

  std::int64_t read(std::int64_t first, std::int64_t count, float* out) override {
    count = first < 0 ? 0 : std::clamp<std::int64_t>(frames_ - first, 0, count);
    if (count == 0) return 0;
    file_.require_unchanged(count * 8);
    if (first < passed_.first() || first > passed_.next() + kWorthPassing) go_to(first);
    for (std::int64_t done = 0; done < count;) {
      if (first + done >= passed_.next()) {
        if (decode() == 0) file_.refuse_short(passed_.next(), frames_);
        continue;
      }
      done += passed_.read(first + done, count - done, scale_, out + 2 * done);
    }
    return count;
  }

  [[nodiscard]] std::size_t exact_sample_bytes() const override { return sizeof(std::int32_t); }
  std::int64_t read_exact(std::int64_t first, std::int64_t count, std::uint8_t* out) override {
    decoded_.resize(static_cast<std::size_t>(2 * count));
    const std::int64_t got = read(first, count, decoded_.data());
    exact_integers(decoded_.data(), static_cast<std::size_t>(2 * got), out);
    return got;
  }
  void require_same_file() const override { file_.require_same(); }

 private:
  // ---- functions that the decoder calls; it is C code, so they must not throw
  static FLAC__StreamDecoderReadStatus on_read(const FLAC__StreamDecoder*, FLAC__byte* out, std::size_t* count, void* client) {
    auto& self = *static_cast<FlacSource*>(client);
    const std::int64_t wanted = std::min(static_cast<std::int64_t>(*count), self.bytes_ - self.at_);
    const std::int64_t got = self.file_.read(self.offset_ + self.at_, wanted, out, self.error_number_);
    self.at_ += got;
    *count = static_cast<std::size_t>(got);
    if (self.error_number_ != 0) return FLAC__STREAM_DECODER_READ_STATUS_ABORT;
    return got == 0 ? FLAC__STREAM_DECODER_READ_STATUS_END_OF_STREAM : FLAC__STREAM_DECODER_READ_STATUS_CONTINUE;
  }
  static FLAC__StreamDecoderSeekStatus on_seek(const FLAC__StreamDecoder*, FLAC__uint64 to, void* client) {
    auto& self = *static_cast<FlacSource*>(client);
    if (to > static_cast<FLAC__uint64>(self.bytes_)) return FLAC__STREAM_DECODER_SEEK_STATUS_ERROR;
    self.at_ = static_cast<std::int64_t>(to);
    return FLAC__STREAM_DECODER_SEEK_STATUS_OK;
  }
  static FLAC__StreamDecoderTellStatus on_tell(const FLAC__StreamDecoder*, FLAC__uint64* at, void* client) {
    *at = static_cast<FLAC__uint64>(static_cast<FlacSource*>(client)->at_);
    return FLAC__STREAM_DECODER_TELL_STATUS_OK;
  }
  static FLAC__StreamDecoderLengthStatus on_length(const FLAC__StreamDecoder*, FLAC__uint64* length, void* client) {
    *length = static_cast<FLAC__uint64>(static_cast<FlacSource*>(client)->bytes_);
    return FLAC__STREAM_DECODER_LENGTH_STATUS_OK;
  }
  static FLAC__bool at_end(const FLAC__StreamDecoder*, void* client) {
    const auto& self = *static_cast<FlacSource*>(client);
    return self.at_ >= self.bytes_ ? 1 : 0;
  }
  static FLAC__StreamDecoderWriteStatus on_frame(const FLAC__StreamDecoder*, const FLAC__Frame* frame, const FLAC__int32* const channels[],
                                                 void* client) {
    auto& self = *static_cast<FlacSource*>(client);
    if (frame->header.channels != 2 || frame->header.bits_per_sample != self.bits_) {
      self.complaint_ = "a frame has another format than the header states";
      return FLAC__STREAM_DECODER_WRITE_STATUS_ABORT;
    }
    // The decoder gives the number of every frame's first sample, also for streams that count frames.
    if (frame->header.number.sample_number != static_cast<FLAC__uint64>(self.passed_.next())) {
      self.complaint_ = "a frame is missing, out of order or repeated";
      return FLAC__STREAM_DECODER_WRITE_STATUS_ABORT;
    }
    if (!self.passed_.keep(channels[0], channels[1], static_cast<std::int64_t>(frame->header.blocksize))) {
      self.complaint_ = "samples need more bits than the stream states";
      return FLAC__STREAM_DECODER_WRITE_STATUS_ABORT;
    }
    return FLAC__STREAM_DECODER_WRITE_STATUS_CONTINUE;
  }
  static void on_error(const FLAC__StreamDecoder*, FLAC__StreamDecoderErrorStatus status, void* client) {
    auto& complaint = static_cast<FlacSource*>(client)->complaint_;
    if (complaint != nullptr) return;
    complaint = status == FLAC__STREAM_DECODER_ERROR_STATUS_FRAME_CRC_MISMATCH ? "a frame's checksum is wrong"
                : status == FLAC__STREAM_DECODER_ERROR_STATUS_BAD_HEADER       ? "a frame's header is wrong"
                                                                               : "no frame begins at the expected place";
  }

  void open_decoder() {
    at_ = 0;
    passed_.restart(0);
    complaint_ = nullptr;
    decoder_.reset(FLAC__stream_decoder_new());
    if (!decoder_) throw std::bad_alloc();
    const auto status =
        FLAC__stream_decoder_init_stream(decoder_.get(), on_read, on_seek, on_tell, on_length, at_end, on_frame, nullptr, on_error, this);
    if (status == FLAC__STREAM_DECODER_INIT_STATUS_MEMORY_ALLOCATION_ERROR) throw std::bad_alloc();
    if (status != FLAC__STREAM_DECODER_INIT_STATUS_OK) {
      storage::refuse(file_.name(),
                      fmt::format("the decoder refuses the file ({}). Export it again.", FLAC__StreamDecoderInitStatusString[status]));
    }
    if (FLAC__stream_decoder_process_until_end_of_metadata(decoder_.get()) == 0) refuse_damaged();
  }

  /// Decodes one FLAC frame. Returns the number of stereo frames in it; 0 only at the end.
  std::int64_t decode() {
    const std::int64_t before = passed_.next();
    while (passed_.next() == before && state() != FLAC__STREAM_DECODER_END_OF_STREAM) {
      if (FLAC__stream_decoder_process_single(decoder_.get()) == 0 || complaint_ != nullptr || error_number_ != 0) refuse_damaged();
    }
    return passed_.next() - before;
  }

  [[nodiscard]] FLAC__StreamDecoderState state() const { return FLAC__stream_decoder_get_state(decoder_.get()); }

  [[noreturn]] void refuse_damaged() {
    if (error_number_ != 0) file_.refuse_medium(passed_.next(), std::exchange(error_number_, 0));
    // If the decoder reports a lack of memory, the cause may be wrong data in the stream, so only this capture is refused.
    const bool memory = state() == FLAC__STREAM_DECODER_MEMORY_ALLOCATION_ERROR;
    const char* found = complaint_ != nullptr ? complaint_
                        : memory              ? "the decoder cannot get enough memory"
                                              : "the decoder cannot continue";
    storage::refuse(file_.name(), fmt::format("the file is damaged after frame {}: {}. Copy or record it again.", passed_.next(), found));
  }

  void go_to(std::int64_t frame) {
    passed_.restart(frame);  // on_frame receives the frames from there on
    if (FLAC__stream_decoder_seek_absolute(decoder_.get(), static_cast<FLAC__uint64>(frame)) != 0 && complaint_ == nullptr) return;
    if (error_number_ != 0) refuse_damaged();
    // Seeking can fail in a stream without a length: start again and decode up to that frame.
    open_decoder();
    while (passed_.next() < frame) {
      if (decode() == 0) file_.refuse_short(passed_.next(), frames_);
    }
  }

  std::int64_t count_frames() {
    while (decode() > 0) {
    }
    const std::int64_t frames = passed_.next();
    if (frames == 0) storage::refuse(file_.name(), "there is no audio, because no frame can be decoded. Record it again.");
    open_decoder();
    return frames;
  }

  SampleFile file_;
  std::int64_t offset_, bytes_;  // position and length of the stream in the file
  std::int64_t at_ = 0;          // position in the stream at which the decoder reads next
  unsigned bits_;
  float scale_;
  std::unique_ptr<FLAC__StreamDecoder, DeleteDecoder> decoder_;
  AudioInfo info_;
  std::int64_t frames_ = 0;
  int error_number_ = 0;             // of the last read that failed
  const char* complaint_ = nullptr;  // the first one of the decoder
  PassedFrames passed_;
  std::vector<float> decoded_;  // of read_exact
};

}  // namespace

std::unique_ptr<AudioSource> flac_source(storage::Descriptor file, const CaptureLayout& layout, const std::string& name) {
  return std::make_unique<FlacSource>(std::move(file), layout, name);
}

}  // namespace evenwall::internal::audio
