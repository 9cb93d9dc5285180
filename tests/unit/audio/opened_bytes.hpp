// SPDX-License-Identifier: GPL-3.0-or-later
// Opens bytes as a file that no folder lists, for tests of the functions that read headers.
#pragma once

#include <sys/mman.h>

#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "audio/capture_layout.hpp"
#include "audio/decoded_source.hpp"
#include "storage/descriptor.hpp"
#include "support/catch.hpp"
#include "support/refusal.hpp"

inline bool has(const std::string& text, std::string_view part) { return text.find(part) != std::string::npos; }

inline evenwall::internal::storage::Descriptor in_memory(std::string_view bytes) {
  evenwall::internal::storage::Descriptor file(::memfd_create("capture", MFD_CLOEXEC));
  REQUIRE(file.get() >= 0);
  evenwall::internal::storage::write_all(file.get(), bytes, "memory");
  return file;
}

inline evenwall::internal::audio::CaptureLayout layout_in(std::string_view bytes) {
  const evenwall::internal::storage::Descriptor file = in_memory(bytes);
  return evenwall::internal::audio::layout_of(evenwall::internal::storage::FileBytes(file.get(), "x.wav"));
}

inline std::string refused_layout(std::string_view bytes) {
  return refusal_of([&] { layout_in(bytes); });
}

/// Returns the layout, after checking that every sample decoded with it is that of the ramp in wav_bytes.hpp.
inline evenwall::internal::audio::CaptureLayout opened_ramp(std::string_view bytes) {
  evenwall::internal::storage::Descriptor file = in_memory(bytes);
  const evenwall::internal::audio::CaptureLayout layout =
      evenwall::internal::audio::layout_of(evenwall::internal::storage::FileBytes(file.get(), "x.wav"));
  const auto audio = evenwall::internal::audio::decoded_source(std::move(file), layout, "x.wav");
  REQUIRE(audio->frames() == layout.frames);
  std::vector<float> samples(static_cast<std::size_t>(2 * audio->frames()));
  REQUIRE(audio->read(0, audio->frames(), samples.data()) == audio->frames());
  for (std::size_t n = 0; n < samples.size() / 2; ++n) {
    REQUIRE(samples[2 * n] == static_cast<float>(n) / 32768);
    REQUIRE(samples[2 * n + 1] == -static_cast<float>(n) / 32768);
  }
  return layout;
}

/// The code of the only warning; nothing if there is not exactly one.
inline std::optional<evenwall::WarningCode> only_code(const evenwall::internal::audio::CaptureLayout& layout) {
  return layout.warnings.size() == 1 ? std::optional(layout.warnings[0].code) : std::nullopt;
}
