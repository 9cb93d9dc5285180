// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/write_capture.hpp"

#include <fmt/format.h>
#include <sndfile.h>

#include <algorithm>
#include <cerrno>
#include <cmath>
#include <memory>
#include <vector>

#include "audio/capture_layout.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::audio {
namespace {

constexpr std::int64_t kWriteBlockFrames = 16384;
constexpr std::int64_t kMostWavBytes = 0xFFFFF000;  // 4 GiB less room for the header; longer captures are RF64

struct CloseEncoder {
  void operator()(SNDFILE* encoder) const { sf_close(encoder); }
};
using Encoder = std::unique_ptr<SNDFILE, CloseEncoder>;

int subtype(int bits) {
  if (bits == 16) return SF_FORMAT_PCM_16;
  if (bits == 24) return SF_FORMAT_PCM_24;
  if (bits == 32) return SF_FORMAT_FLOAT;
  throw Error(ErrorKind::kInput,
              fmt::format("recordings of {} bits cannot be written. Choose 16 or 24 bits (PCM), or 32 bits (float).", bits));
}

/// Requires: errno as the encoder left it.
[[noreturn]] void refuse_encoder(SNDFILE* encoder, const std::string& name) {
  const int error_number = errno;
  if (sf_error(encoder) == SF_ERR_SYSTEM && error_number != 0)
    storage::refuse(name, "the file cannot be written: " + storage::errno_text(error_number));
  storage::refuse(name, std::string("the file cannot be written (") + sf_strerror(encoder) + "). Choose another place.");
}

/// Whether the outermost chunk ends at the end of the file. Readers, also those of this program, accept a file with a wrong size there.
bool is_closed(const storage::FileBytes& bytes) {
  const std::string head = bytes.read(0, 28);
  if (head.size() < 28) return false;
  const std::uint64_t inner = head.starts_with("RF64") ? storage::little<std::uint64_t>(head, 20) : storage::little<std::uint32_t>(head, 4);
  return inner + 8 == bytes.size();
}

/// The encoder completes the header when it is closed, and does not report a failure to do so.
void refuse_unfinished(int descriptor, std::int64_t frames, const std::string& name) {
  const storage::FileBytes bytes(descriptor, name);
  const CaptureLayout written = layout_of(bytes);
  if (written.frames != frames || !written.warnings.empty() || !is_closed(bytes))
    storage::refuse(name, "the file cannot be written to its end. Make room, or choose another place.");
}

Encoder open_encoder(int descriptor, const AudioSource& audio, int bits, const std::string& name) {
  SF_INFO info{};
  info.channels = 2;
  info.samplerate = static_cast<int>(std::lround(audio.info().sample_rate_hz));
  const bool large = audio.frames() > kMostWavBytes / (bits / 4);
  info.format = (large ? SF_FORMAT_RF64 : SF_FORMAT_WAV) | subtype(bits);
  Encoder encoder(sf_open_fd(descriptor, SFM_WRITE, &info, SF_FALSE));
  if (!encoder) refuse_encoder(nullptr, name);
  // The PEAK chunk holds the time of day. Without it the same audio gives the same bytes.
  sf_command(encoder.get(), SFC_SET_ADD_PEAK_CHUNK, nullptr, SF_FALSE);
  return encoder;
}

/// Rounds to the nearest step of `bits`, clips, and left-justifies in 32 bits, as the encoder expects. The encoder's own clipping would
/// truncate instead.
int to_pcm(float sample, int bits) {
  const double full_scale = std::ldexp(1.0, bits - 1);
  if (std::isnan(sample)) return 0;
  const double rounded = std::clamp(std::nearbyint(static_cast<double>(sample) * full_scale), -full_scale, full_scale - 1);
  return static_cast<int>(static_cast<std::int64_t>(rounded) * (std::int64_t{1} << (32 - bits)));
}

sf_count_t encode(SNDFILE* encoder, const std::vector<float>& samples, std::int64_t frames, int bits) {
  if (bits == 32) return sf_writef_float(encoder, samples.data(), frames);
  std::vector<int> steps(static_cast<std::size_t>(2 * frames));
  std::transform(samples.begin(), samples.begin() + 2 * frames, steps.begin(), [bits](float x) { return to_pcm(x, bits); });
  return sf_writef_int(encoder, steps.data(), frames);
}

}  // namespace
}  // namespace evenwall::internal::audio

namespace evenwall {

void write_capture(AudioSource& audio, int bits, const fs::path& path) {
  const std::string name = internal::storage::shown(path);
  internal::audio::subtype(bits);
  internal::storage::WholeFile file(path);
  internal::audio::write_capture(audio, bits, file, name);
  file.commit();
}

}  // namespace evenwall

namespace evenwall::internal::audio {

void write_capture(AudioSource& audio, int bits, storage::WholeFile& file, const std::string& name) {
  if (file.is_direct()) storage::refuse(name, "this is not a regular file, but a recording needs one. Choose another place.");
  Encoder encoder = open_encoder(file.descriptor(), audio, bits, name);
  std::vector<float> samples(static_cast<std::size_t>(2 * kWriteBlockFrames));
  for (std::int64_t first = 0; first < audio.frames();) {
    const std::int64_t n = audio.read(first, std::min(kWriteBlockFrames, audio.frames() - first), samples.data());
    if (n <= 0) break;
    if (encode(encoder.get(), samples, n, bits) != n) refuse_encoder(encoder.get(), name);
    first += n;
  }
  if (sf_close(encoder.release()) != 0) storage::refuse(name, "the file cannot be written to its end. Make room, or choose another place.");
  refuse_unfinished(file.descriptor(), audio.frames(), name);
}

}  // namespace evenwall::internal::audio
