// SPDX-License-Identifier: GPL-3.0-or-later
// Provides audio to write, and runs the other programs that convert it to other containers.
#pragma once

#include <algorithm>
#include <cstdlib>
#include <random>
#include <string>
#include <vector>

#include "audio/capture_layout.hpp"
#include "evenwall/files.hpp"
#include "storage/descriptor.hpp"
#include "support/catch.hpp"
#include "support/memory_source.hpp"

inline constexpr std::int64_t kExampleFrames = 40000;  // more than two blocks of the decoder

inline MemorySource two_tones() {
  return Canvas(48000, static_cast<double>(kExampleFrames) / 48000).tone(0, 1, 997, 0.5, {0, 0.01}).noise(0.001, 7).source();
}

inline std::vector<float> all_of(evenwall::AudioSource& audio) {
  std::vector<float> samples(static_cast<std::size_t>(2 * audio.frames()));
  REQUIRE(audio.read(0, audio.frames(), samples.data()) == audio.frames());
  return samples;
}

inline std::vector<float> samples_of(const evenwall::fs::path& path) { return all_of(*evenwall::open_capture(path).audio); }

inline void run(const std::string& command) {
  INFO(command);
  REQUIRE(std::system((command + " >/dev/null 2>&1").c_str()) == 0);
}

inline evenwall::internal::audio::CaptureLayout layout_of_file(const evenwall::fs::path& path) {
  const evenwall::internal::storage::Descriptor file = evenwall::internal::storage::open_input(path);
  return evenwall::internal::audio::layout_of(evenwall::internal::storage::FileBytes(file.get(), "x"));
}

/// Checks that any stretch, read in any order, equals that part of the whole.
inline void require_any_stretch(const evenwall::fs::path& path, const std::vector<float>& samples) {
  auto opened = evenwall::open_capture(path);
  CHECK(opened.audio->frames() == kExampleFrames);
  for (const std::int64_t first : {39000, 5, 17000, 16999, 0, 39999, 16383, 16385, 1}) {
    std::vector<float> part(2000);
    const auto n = opened.audio->read(first, 1000, part.data());
    CHECK(n == std::min<std::int64_t>(1000, kExampleFrames - first));
    CHECK(std::equal(part.begin(), part.begin() + 2 * n, samples.begin() + 2 * first));
  }
  float none[2];
  CHECK(opened.audio->read(kExampleFrames, 1, none) == 0);
  CHECK(opened.audio->read(-1, 1, none) == 0);
  CHECK(all_of(*opened.audio) == samples);
}

/// Random integers of up to that many bits, sign included, uniformly distributed.
inline std::vector<std::int32_t> random_samples(unsigned bits, std::size_t count, std::mt19937& random) {
  const std::int32_t most = (1 << (bits - 1)) - 1;
  std::uniform_int_distribution<std::int32_t> draw(-most - 1, most);
  std::vector<std::int32_t> samples(count);
  for (std::int32_t& x : samples) x = draw(random);
  return samples;
}
