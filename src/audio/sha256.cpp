// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/sha256.hpp"

#include <fmt/format.h>

#include <array>

namespace evenwall::internal::audio {

Sha256::Sha256() { ::sha256_init(&state_); }

void Sha256::add(const std::uint8_t* bytes, std::size_t count) { ::sha256_update(&state_, count, bytes); }

std::string Sha256::take_digest() {
  std::array<std::uint8_t, SHA256_DIGEST_SIZE> digest{};
  ::sha256_digest(&state_, digest.size(), digest.data());
  std::string text;
  for (const std::uint8_t byte : digest) text += fmt::format("{:02x}", byte);
  return text;
}

}  // namespace evenwall::internal::audio
