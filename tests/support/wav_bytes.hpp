// SPDX-License-Identifier: GPL-3.0-or-later
// Writes WAV files byte by byte, so that tests can corrupt them.
#pragma once

#include <cstdint>
#include <string>
#include <string_view>

namespace wav {

template <typename T>
std::string le(T value) {
  std::string bytes;
  for (std::size_t i = 0; i < sizeof(T); ++i) bytes += static_cast<char>((static_cast<std::uint64_t>(value) >> (8 * i)) & 0xFFU);
  return bytes;
}

inline std::string chunk(std::string_view id, std::string_view body) {
  return std::string(id) + le(static_cast<std::uint32_t>(body.size())) + std::string(body) +
         (body.size() % 2 != 0 ? std::string(1, '\0') : "");
}

struct Format {
  std::uint16_t tag = 1;
  std::uint16_t channels = 2;
  std::uint32_t rate_hz = 48000;
  std::uint16_t bits = 16;
};

inline std::string fmt_body(Format f) {
  const auto frame = static_cast<std::uint16_t>(f.channels * f.bits / 8);
  return le(f.tag) + le(f.channels) + le(f.rate_hz) + le<std::uint32_t>(f.rate_hz * frame) + le(frame) + le(f.bits);
}

inline std::string riff(std::string_view chunks) {
  return "RIFF" + le(static_cast<std::uint32_t>(chunks.size() + 4)) + "WAVE" + std::string(chunks);
}

/// Frame n holds (n, −n) in 16 bits.
inline std::string ramp(int frames) {
  std::string body;
  for (int n = 0; n < frames; ++n) body += le(static_cast<std::int16_t>(n)) + le(static_cast<std::int16_t>(-n));
  return body;
}

/// A data chunk that declares any length, whatever the length of its body.
inline std::string data(std::uint32_t declared, std::string_view body) { return "data" + le(declared) + std::string(body); }

}  // namespace wav
