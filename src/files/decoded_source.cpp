#include "files/decoded_source.hpp"

#include <fmt/format.h>
#include <sndfile.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <vector>

namespace evenwall {
namespace {

constexpr std::int64_t kBlockFrames = 16384;  // in one call of the decoder: bounds what it holds at a time

/// The stretch of the file that the decoder may see, and the error that its last read met.
struct Window {
  int descriptor = -1;
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
  sf_count_t done = 0;
  while (done < count) {
    const ssize_t n =
        ::pread(window.descriptor, static_cast<char*>(out) + done, static_cast<std::size_t>(count - done), window.offset + window.at);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) window.error_number = errno;
    if (n <= 0) break;
    done += n;
    window.at += n;
  }
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
  return 0;  // FLAC is recognised by its own header
}

class DecodedSource : public AudioSource {
 public:
  DecodedSource(Descriptor file, const CaptureLayout& layout, std::string name)
      : file_(std::move(file)), layout_(layout), name_(std::move(name)) {
    window_ = {file_.get(), static_cast<sf_count_t>(layout.data_offset), static_cast<sf_count_t>(layout.data_bytes), 0, 0};
    size_at_open_ = size_now();
    open_decoder();
    frames_ = layout.frames ? *layout.frames : count_frames();
    info_ = {layout.rate_hz, 2, static_cast<double>(frames_) / layout.rate_hz, encoding_text(layout)};
  }

  [[nodiscard]] const AudioInfo& info() const override { return info_; }
  [[nodiscard]] std::int64_t frames() const override { return frames_; }

  std::int64_t read(std::int64_t first, std::int64_t count, float* out) override {
    count = first < 0 ? 0 : std::clamp<std::int64_t>(frames_ - first, 0, count);
    if (count == 0) return 0;
    // Each time: not everyone reads to the last frame.
    if (size_now() > size_at_open_) refuse(name_, "changed while it was being read; measure it once it is finished");
    if (first != next_frame_) go_to(first);
    for (std::int64_t done = 0; done < count;) {
      const std::int64_t n = decode(std::min(kBlockFrames, count - done), out + 2 * done);
      if (n == 0) refuse_short();
      done += n;
    }
    return count;
  }

 private:
  void open_decoder() {
    window_.at = 0;
    SF_INFO info{};
    info.format = sndfile_format(layout_);
    if (info.format != 0) {
      info.channels = 2;
      info.samplerate = static_cast<int>(layout_.rate_hz);
    }
    decoder_.reset();
    decoder_.reset(sf_open_virtual(&kWindowIo, SFM_READ, &info, &window_));
    if (!decoder_) refuse_medium_or(fmt::format("the decoder refuses it: {}", sf_strerror(nullptr)));
    const bool unexpected = layout_.samples == SampleFormat::kFlac && (info.format & SF_FORMAT_TYPEMASK) != SF_FORMAT_FLAC;
    if (unexpected || info.channels != 2) refuse(name_, "the decoder sees another format than the header says; export it again");
    next_frame_ = 0;
  }

  /// Decodes at most kBlockFrames from where the decoder stands. Returns 0 at the end only.
  std::int64_t decode(std::int64_t count, float* out) {
    const sf_count_t n = sf_readf_float(decoder_.get(), out, count);
    if (window_.error_number != 0 || sf_error(decoder_.get()) != SF_ERR_NO_ERROR) {
      refuse_medium_or(fmt::format("damaged after frame {}: {}; copy or record it again", next_frame_ + std::max<sf_count_t>(n, 0),
                                   sf_strerror(decoder_.get())));
    }
    next_frame_ += n;
    return n;
  }

  void go_to(std::int64_t frame) {
    if (sf_seek(decoder_.get(), frame, SEEK_SET) == frame) {
      next_frame_ = frame;
      return;
    }
    // A FLAC stream without a length cannot be searched: start again and read on to there.
    open_decoder();
    std::vector<float> passed(static_cast<std::size_t>(2 * kBlockFrames));
    while (next_frame_ < frame) {
      if (decode(std::min(kBlockFrames, frame - next_frame_), passed.data()) == 0) refuse_short();
    }
  }

  std::int64_t count_frames() {
    std::vector<float> passed(static_cast<std::size_t>(2 * kBlockFrames));
    while (decode(kBlockFrames, passed.data()) > 0) {
    }
    const std::int64_t frames = next_frame_;
    if (frames == 0) refuse(name_, "no audio: no frame can be decoded; record it again");
    open_decoder();
    return frames;
  }

  [[nodiscard]] off_t size_now() const {
    struct stat status {};
    if (::fstat(file_.get(), &status) != 0) refuse(name_, "cannot be read: " + errno_text(errno));
    return status.st_size;
  }

  [[noreturn]] void refuse_medium_or(const std::string& found) const {
    if (window_.error_number != 0)
      refuse(name_, fmt::format("cannot be read after frame {}: {}", next_frame_, errno_text(window_.error_number)));
    refuse(name_, found);
  }
  [[noreturn]] void refuse_short() const {
    refuse(name_, fmt::format("ends at frame {}, {} are declared; copy or record it again", next_frame_, frames_));
  }

  Descriptor file_;
  CaptureLayout layout_;
  std::string name_;
  Window window_;
  std::unique_ptr<SNDFILE, CloseDecoder> decoder_;
  AudioInfo info_;
  std::int64_t frames_ = 0;
  std::int64_t next_frame_ = 0;
  off_t size_at_open_ = 0;
};

}  // namespace

std::unique_ptr<AudioSource> decoded_source(Descriptor file, const CaptureLayout& layout, const std::string& name) {
  return std::make_unique<DecodedSource>(std::move(file), layout, name);
}

}  // namespace evenwall
