// SPDX-License-Identifier: GPL-3.0-or-later
// Provides a file with an unreadable second half: this process's own memory, in which reads past the mapped part fail with EIO.
#pragma once

#include <fcntl.h>
#include <sys/mman.h>

#include "audio/capture_layout.hpp"
#include "storage/descriptor.hpp"
#include "support/catch.hpp"

class FailingMedium {
 public:
  FailingMedium() : mapped_(::mmap(nullptr, 2 * kMapped, PROT_READ, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0)) {
    REQUIRE(mapped_ != MAP_FAILED);
    REQUIRE(::munmap(static_cast<char*>(mapped_) + kMapped, kMapped) == 0);
  }
  ~FailingMedium() { ::munmap(mapped_, kMapped); }
  FailingMedium(const FailingMedium&) = delete;
  FailingMedium& operator=(const FailingMedium&) = delete;

  [[nodiscard]] static evenwall::internal::storage::Descriptor open() {
    return evenwall::internal::storage::Descriptor(::open("/proc/self/mem", O_RDONLY));
  }
  /// 16-bit stereo of 32768 frames; only the first half of them can be read.
  [[nodiscard]] evenwall::internal::audio::CaptureLayout layout() const {
    evenwall::internal::audio::CaptureLayout layout;
    layout.container = "WAV";
    layout.rate_hz = 48000;
    layout.data_offset = reinterpret_cast<std::uintptr_t>(mapped_);
    layout.data_bytes = 2 * kMapped;
    layout.frames = static_cast<std::int64_t>(layout.data_bytes / evenwall::internal::audio::bytes_per_frame(layout.samples));
    return layout;
  }

 private:
  static constexpr std::size_t kMapped = 1 << 16;
  void* mapped_;
};
