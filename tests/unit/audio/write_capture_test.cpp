// SPDX-License-Identifier: GPL-3.0-or-later
#include <sys/stat.h>

#include <cmath>
#include <thread>

#include "evenwall/error.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"
#include "unit/audio/example_audio.hpp"
#include "unit/storage/small_medium.hpp"

using namespace evenwall;

namespace {

double largest_difference(const std::vector<float>& a, const std::vector<float>& b) {
  REQUIRE(a.size() == b.size());
  double largest = 0;
  for (std::size_t i = 0; i < a.size(); ++i) largest = std::max(largest, std::abs(static_cast<double>(a[i]) - static_cast<double>(b[i])));
  return largest;
}

bool has(const std::string& text, std::string_view part) { return text.find(part) != std::string::npos; }

/// Audio from a medium that fails in the second block.
class FailingSource : public MemorySource {
 public:
  FailingSource() : MemorySource(std::vector<float>(80000), 48000) {}
  std::int64_t read(std::int64_t first, std::int64_t count, float* out) override {
    if (first > 0) throw Error(ErrorKind::kInput, "source.wav: the medium fails");
    return MemorySource::read(first, count, out);
  }
};

}  // namespace

TEST_CASE("A capture that is written and read again agrees within half a quantisation step, and float agrees exactly") {
  const TempFolder folder;
  auto audio = two_tones();
  const auto original = all_of(audio);
  const struct {
    int bits;
    double tolerance;  // half a step of full scale 1; for 24 bits also the last bit of a float near 0.5
    const char* encoding;
  } cases[] = {{16, 0.5 / 32768, "WAV PCM 16-bit"}, {24, 0.5 / 8388608 * 1.001, "WAV PCM 24-bit"}, {32, 0, "WAV float 32-bit"}};
  for (const auto& c : cases) {
    write_capture(audio, c.bits, folder / "a.wav");
    auto opened = open_capture(folder / "a.wav");
    CHECK(opened.warnings.empty());
    CHECK(opened.audio->info().encoding == c.encoding);
    CHECK(opened.audio->info().sample_rate_hz == 48000);
    CHECK(opened.audio->frames() == kExampleFrames);
    CHECK(largest_difference(all_of(*opened.audio), original) <= c.tolerance);
  }
  CHECK(folder.entries() == 1);
}

TEST_CASE("Writing rounds without bias, clips at full scale, and writes NaN as zero") {
  const TempFolder folder;
  for (const int bits : {16, 24}) {
    const float step = std::ldexp(1.0F, 1 - bits);
    MemorySource audio(
        {0.6F * step, -0.6F * step, 0.5F * step, 1.5F * step, -0.5F * step, -1.5F * step, 2.0F, -2.0F, NAN, 1.0F, INFINITY, -INFINITY},
        8000);
    write_capture(audio, bits, folder / "a.wav");
    // Halves are rounded to the even number.
    CHECK(samples_of(folder / "a.wav") ==
          std::vector<float>{step, -step, 0, 2 * step, 0, -2 * step, 1 - step, -1, 0, 1 - step, 1 - step, -1});
  }
}

TEST_CASE("The same audio gives the same bytes twice") {
  const TempFolder folder;
  auto audio = two_tones();
  write_capture(audio, 32, folder / "b.wav");
  std::this_thread::sleep_for(std::chrono::milliseconds(1100));  // a time stamp in whole seconds would differ
  write_capture(audio, 32, folder / "c.wav");
  CHECK(folder.read("b.wav") == folder.read("c.wav"));
}

TEST_CASE("A write that fails leaves the old file unchanged and no other file") {
  const TempFolder folder;
  auto audio = two_tones();
  const auto path = folder.write("a.wav", "old");
  FailingSource failing;
  CHECK(has(refusal_of([&] { write_capture(failing, 16, path); }), "the medium fails"));
  {
    const SmallMedium medium(1000);
    CHECK(has(refusal_of([&] { write_capture(audio, 16, path); }), "a.wav: the file cannot be written"));
  }
  for (const int bits : {0, 8, 20, 64})
    CHECK(has(refusal_of([&] { write_capture(audio, bits, path); }), "recordings of " + std::to_string(bits) + " bits cannot be written"));
  CHECK(folder.read("a.wav") == "old");
  CHECK(folder.entries() == 1);
  CHECK(has(refusal_of([&] { write_capture(audio, 16, "/dev/null"); }), "this is not a regular file"));
  CHECK(has(refusal_of([&] { write_capture(audio, 16, folder.path()); }), "this is a folder"));
  write_capture(audio, 16, path);
  CHECK(samples_of(path).size() == 2 * kExampleFrames);
}
