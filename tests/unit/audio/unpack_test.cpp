// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/unpack.hpp"

#include <sndfile.h>
#include <sys/mman.h>

#include <algorithm>
#include <cstring>
#include <random>

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;

namespace {

/// The samples that libsndfile reads from the same bytes.
std::vector<float> by_libsndfile(const std::vector<std::uint8_t>& bytes, int format, std::size_t count) {
  const TempFolder folder;
  folder.write("raw", std::string(bytes.begin(), bytes.end()));
  SF_INFO info{};
  info.samplerate = 48000;
  info.channels = 1;
  info.format = SF_FORMAT_RAW | format | SF_ENDIAN_LITTLE;
  SNDFILE* file = sf_open((folder / "raw").c_str(), SFM_READ, &info);
  REQUIRE(file != nullptr);
  std::vector<float> samples(count);
  REQUIRE(sf_read_float(file, samples.data(), static_cast<sf_count_t>(count)) == static_cast<sf_count_t>(count));
  sf_close(file);
  return samples;
}

std::vector<std::uint8_t> random_bytes(std::size_t size, unsigned seed) {
  std::mt19937 generator(seed);
  std::vector<std::uint8_t> bytes(size);
  for (auto& b : bytes) b = static_cast<std::uint8_t>(generator());
  // Adds values near the ends of the scale, and zero.
  for (const int value : {0x00, 0xFF, 0x7F, 0x80}) {
    for (std::size_t i = 0; i < 6 && size > 60; ++i) bytes[static_cast<std::size_t>(value) % 50 + i] = static_cast<std::uint8_t>(value);
  }
  return bytes;
}

/// Bytes that end where readable memory ends: reading one byte more is a fault.
class AtTheEdge {
 public:
  explicit AtTheEdge(const std::vector<std::uint8_t>& bytes)
      : room_((bytes.size() / kPage + 1) * kPage),
        mapped_(static_cast<std::uint8_t*>(::mmap(nullptr, room_ + kPage, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0))),
        first_(mapped_ + room_ - bytes.size()) {
    REQUIRE(::mprotect(mapped_ + room_, kPage, PROT_NONE) == 0);
    std::copy(bytes.begin(), bytes.end(), first_);
  }
  ~AtTheEdge() { ::munmap(mapped_, room_ + kPage); }
  AtTheEdge(const AtTheEdge&) = delete;
  AtTheEdge& operator=(const AtTheEdge&) = delete;
  [[nodiscard]] const std::uint8_t* data() const { return first_; }

 private:
  static constexpr std::size_t kPage = 65536;
  std::size_t room_;
  std::uint8_t* mapped_;
  std::uint8_t* first_;
};

}  // namespace

TEST_CASE("Every way to unpack samples gives the bits of libsndfile, for any number of samples") {
  for (unsigned seed = 1; seed <= 60; ++seed) {
    const std::size_t count = seed < 40 ? seed : 50 * seed;
    INFO("seed " << seed << ", " << count << " samples");
    const auto two = random_bytes(2 * count, seed);
    const auto three = random_bytes(3 * count, seed + 1000);
    const auto expected16 = by_libsndfile(two, SF_FORMAT_PCM_16, count);
    const auto expected24 = by_libsndfile(three, SF_FORMAT_PCM_24, count);
    const AtTheEdge two_bytes(two), three_bytes(three);
    for (const Unpacking* way : unpackings_here()) {
      INFO(way->name);
      std::vector<float> out(count);
      way->pcm16(two_bytes.data(), count, out.data());
      REQUIRE(std::memcmp(out.data(), expected16.data(), 4 * count) == 0);
      way->pcm24(three_bytes.data(), count, out.data());
      REQUIRE(std::memcmp(out.data(), expected24.data(), 4 * count) == 0);
    }
  }
}
