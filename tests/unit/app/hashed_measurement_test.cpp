// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/hashed_measurement.hpp"

#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/memory_source.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

void write_bands(const fs::path& path, double crosstalk) {
  auto source =
      Canvas(16000, 7).tone(0.3, 2.5, 1000, 0.25, 0.25 * crosstalk).tone(3.6, 2.5, 1000, 0.2 * crosstalk, 0.2).noise(1e-5, 5).source();
  write_capture(source, 24, path);
}

std::string hash_in(const Measured& measured) {
  REQUIRE(std::holds_alternative<Measurement>(measured));
  return std::get<Measurement>(measured).audio.sha256.value_or("none");
}

}  // namespace

TEST_CASE("A measurement gets the SHA-256 of the whole file, also for a stretch of it, and is otherwise the same") {
  const TempFolder folder;
  write_bands(folder / "a.wav", 0.02);
  const std::string expected = sha256_of_frames(*open_capture(folder / "a.wav").audio);
  HashedMeasurement hashed;
  CHECK(hash_in(hashed.of(folder / "a.wav", "a.wav", {})) == expected);
  MeasureOptions stretch;
  stretch.to_s = 3.0;
  CHECK(hash_in(hashed.of(folder / "a.wav", "a.wav", stretch)) == expected);
  CHECK(hash_in(hashed.as_function()(folder / "a.wav", "a.wav", {})) == expected);
  CHECK(hash_in(measured(folder / "a.wav", "a.wav", {})) == "none");
  Measured with = hashed.of(folder / "a.wav", "a.wav", {});
  std::get<Measurement>(with).audio.sha256.reset();
  CHECK(to_json(Reading{{{}, std::get<Measurement>(with)}, std::nullopt}) ==
        to_json(Reading{{{}, std::get<Measurement>(measured(folder / "a.wav", "a.wav", {}))}, std::nullopt}));
}

TEST_CASE("A file that was written anew gets a new SHA-256") {
  const TempFolder folder;
  write_bands(folder / "a.wav", 0.02);
  HashedMeasurement hashed;
  const std::string first = hash_in(hashed.of(folder / "a.wav", "a.wav", {}));
  std::filesystem::remove(folder / "a.wav");
  write_bands(folder / "a.wav", 0.03);  // of the same length
  const std::string second = hash_in(hashed.of(folder / "a.wav", "a.wav", {}));
  CHECK(second != first);
  CHECK(second == sha256_of_frames(*open_capture(folder / "a.wav").audio));
}

TEST_CASE("A recording that cannot be measured stays an error") {
  const TempFolder folder;
  HashedMeasurement hashed;
  const Measured missing = hashed.of(folder / "none.wav", "none.wav", {});
  REQUIRE(std::holds_alternative<ReadingError>(missing));
  CHECK(std::get<ReadingError>(missing).message.find("none.wav: the file cannot be opened") != std::string::npos);
}
