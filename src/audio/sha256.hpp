// SPDX-License-Identifier: GPL-3.0-or-later
// Computes SHA-256 with the library Nettle.
#pragma once

#include <nettle/sha2.h>

#include <cstddef>
#include <cstdint>
#include <string>

namespace evenwall::internal::audio {

/// SHA-256 of bytes that arrive in parts. Source: FIPS 180-4.
class Sha256 {
 public:
  Sha256();
  void add(const std::uint8_t* bytes, std::size_t count);
  /// The digest as 64 lower-case hexadecimal digits. The next bytes begin a new digest.
  std::string take_digest();

 private:
  sha256_ctx state_{};
};

}  // namespace evenwall::internal::audio
