#include "files/unpacked_source.hpp"

#include <algorithm>
#include <bit>
#include <vector>

#include "files/sample_file.hpp"
#include "files/unpack.hpp"

namespace evenwall {
namespace {

constexpr std::int64_t kBlockFrames = 8192;  // 48 KB of 24 bits: stays in the nearer caches between the system and the unpacking

class UnpackedSource : public AudioSource {
 public:
  UnpackedSource(Descriptor file, const CaptureLayout& layout, std::string name)
      : file_(std::move(file), std::move(name)),
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
      const std::int64_t now = std::min(kBlockFrames, count - done);
      read_block(first + done, now, out + 2 * done);
      done += now;
    }
    return count;
  }

 private:
  void read_block(std::int64_t first, std::int64_t count, float* out) {
    if (samples_ == SampleFormat::kFloat32) return fetch(first, count, out);
    raw_.resize(static_cast<std::size_t>(kBlockFrames * frame_bytes_));
    fetch(first, count, raw_.data());
    const auto samples = static_cast<std::size_t>(2 * count);
    samples_ == SampleFormat::kPcm16 ? fastest_unpacking().pcm16(raw_.data(), samples, out)
                                     : fastest_unpacking().pcm24(raw_.data(), samples, out);
  }

  void fetch(std::int64_t first, std::int64_t count, void* out) const {
    int error_number = 0;
    const std::int64_t got = file_.read(offset_ + first * frame_bytes_, count * frame_bytes_, out, error_number);
    if (error_number != 0) file_.refuse_medium(first + got / frame_bytes_, error_number);
    if (got < count * frame_bytes_) file_.refuse_short(first + got / frame_bytes_, frames_);
  }

  SampleFile file_;
  SampleFormat samples_;
  std::int64_t offset_;
  std::int64_t frame_bytes_;
  std::int64_t frames_;
  AudioInfo info_;
  std::vector<std::uint8_t> raw_;
};

}  // namespace

bool needs_no_decoder(const CaptureLayout& layout) {
  const bool plain = layout.samples == SampleFormat::kPcm16 || layout.samples == SampleFormat::kPcm24;
  const bool machine_float = layout.samples == SampleFormat::kFloat32 && std::endian::native == std::endian::little;
  return layout.order == ByteOrder::kLittle && (plain || machine_float) && layout.frames.has_value();
}

std::unique_ptr<AudioSource> unpacked_source(Descriptor file, const CaptureLayout& layout, const std::string& name) {
  return std::make_unique<UnpackedSource>(std::move(file), layout, name);
}

}  // namespace evenwall
