// SPDX-License-Identifier: GPL-3.0-or-later
// Generates random numbers that are the same on every system; std:: distributions differ between libraries.
#pragma once

#include <cmath>
#include <cstdint>
#include <initializer_list>
#include <numbers>

namespace evenwall::internal::simulate {

/// xoshiro256++ seeded by splitmix64. Source: D. Blackman, S. Vigna, ACM Trans. Math. Softw. 47(4), 2021 (from memory).
class Draw {
 public:
  /// Each list of keys gives a separate stream.
  Draw(std::initializer_list<std::uint64_t> keys) {
    std::uint64_t mixed = 0x243F6A8885A308D3ULL;
    for (const std::uint64_t key : keys) mixed = split(mixed ^ (key + 0x9E3779B97F4A7C15ULL));
    for (std::uint64_t& word : state_) word = mixed = split(mixed);
  }
  std::uint64_t next() {
    const std::uint64_t result = rotate(state_[0] + state_[3], 23) + state_[0];
    const std::uint64_t t = state_[1] << 17U;
    state_[2] ^= state_[0];
    state_[3] ^= state_[1];
    state_[1] ^= state_[2];
    state_[0] ^= state_[3];
    state_[2] ^= t;
    state_[3] = rotate(state_[3], 45);
    return result;
  }
  /// In [0, 1).
  double unit() { return static_cast<double>(next() >> 11U) * 0x1p-53; }
  double uniform(double low, double high) { return low + (high - low) * unit(); }
  double sign() { return (next() >> 63U) == 0 ? 1.0 : -1.0; }
  double exponential(double mean) { return -mean * std::log(1.0 - unit()); }
  /// Mean 0, variance 1, bell-shaped out to ±3.46: the sum of four uniform numbers from one draw. It is for noise, as it is fast.
  double bell() {
    const std::uint64_t bits = next();
    const auto part = [&](unsigned shift) { return static_cast<double>((bits >> shift) & 0xFFFFU); };
    // A 16-bit uniform number has variance (2³² − 1)/12. The sum of four has about a third of 2³², and its mean is 2·65535.
    return (part(0) + part(16) + part(32) + part(48) - 2.0 * 65535.0) * (1.0 / 37837.2270);
  }
  /// Standard normal, by Box and Muller; both numbers of a pair are used.
  double normal() {
    if (spare_there_) {
      spare_there_ = false;
      return spare_;
    }
    const double radius = std::sqrt(-2.0 * std::log(1.0 - unit()));
    const double angle = 2.0 * std::numbers::pi * unit();
    spare_ = radius * std::sin(angle);
    spare_there_ = true;
    return radius * std::cos(angle);
  }

 private:
  static std::uint64_t rotate(std::uint64_t x, unsigned by) { return (x << by) | (x >> (64U - by)); }
  static std::uint64_t split(std::uint64_t x) {
    x += 0x9E3779B97F4A7C15ULL;
    x = (x ^ (x >> 30U)) * 0xBF58476D1CE4E5B9ULL;
    x = (x ^ (x >> 27U)) * 0x94D049BB133111EBULL;
    return x ^ (x >> 31U);
  }

  std::uint64_t state_[4]{};
  double spare_ = 0;
  bool spare_there_ = false;
};

}  // namespace evenwall::internal::simulate
