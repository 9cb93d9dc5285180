// SPDX-License-Identifier: GPL-3.0-or-later
// Fuzzes the check of the file's layout and the decoder with bytes that may be a capture.
#include <algorithm>
#include <cmath>
#include <vector>

#include "audio/capture_layout.hpp"
#include "audio/capture_source.hpp"
#include "fuzz/fuzz_target.hpp"
#include "storage/file_bytes.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;
using namespace evenwall::internal::storage;

namespace {

constexpr std::int64_t kBlock_frames = 4096;
constexpr std::int64_t kMost_frames = 1 << 20;  // the most that are read; headers may declare any number

void read_through(AudioSource& audio) {
  std::vector<float> block(2 * kBlock_frames);
  const std::int64_t last = std::min(audio.frames(), kMost_frames);
  for (std::int64_t at = 0; at < last; at += kBlock_frames) {
    const std::int64_t n = audio.read(at, kBlock_frames, block.data());
    fuzz::require(n == std::min(kBlock_frames, audio.frames() - at));
  }
  static_cast<void>(audio.read(audio.frames() / 2, 16, block.data()));  // then from the middle
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  fuzz::refuses_or([&] {
    Descriptor file = fuzz::file_of(fuzz::text_of(data, size));
    const CaptureLayout layout = layout_of(FileBytes(file.get(), "fuzz"));
    fuzz::require(layout.data_offset + layout.data_bytes <= size && layout.rate_hz >= 8000 && layout.rate_hz <= 768000);
    const auto audio = capture_source(std::move(file), layout, "fuzz");
    fuzz::require(audio->frames() > 0 && std::isfinite(audio->info().duration_s));
    read_through(*audio);
  });
  return 0;
}
