// Audio to write, and the programs of others that turn it into other containers.
#pragma once

#include <cstdlib>
#include <string>
#include <vector>

#include "evenwall/files.hpp"
#include "files/capture_layout.hpp"
#include "files/descriptor.hpp"
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

inline evenwall::CaptureLayout layout_of_file(const evenwall::fs::path& path) {
  const evenwall::Descriptor file = evenwall::open_input(path);
  return evenwall::layout_of(evenwall::FileBytes(file.get(), "x"));
}
