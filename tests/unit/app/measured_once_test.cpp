// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/measured_once.hpp"

#include <sys/stat.h>

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;
namespace fs = std::filesystem;

namespace {

/// Counts the measurements. Its duration is their number.
struct Counting {
  int calls = 0;
  std::optional<ReadingError> error;
  bool awaited = false;
  MeasuredOnce once{[this](const fs::path&) { return awaited; },
                    [this](const fs::path&, const std::string&, const MeasureOptions&) -> Measured {
                      ++calls;
                      if (error) return *error;
                      Measurement m;
                      m.audio.duration_s = calls;
                      return m;
                    }};
  double of(const fs::path& path, const MeasureOptions& options = {}) {
    const Measured result = once.of(path, "name", options);
    return std::holds_alternative<Measurement>(result) ? std::get<Measurement>(result).audio.duration_s : -1;
  }
};

}  // namespace

TEST_CASE("a recording is measured again only if the file or the options change") {
  const TempFolder folder;
  const auto path = folder.write("a.wav", "one");
  Counting c;
  CHECK(c.once.is_new(path, {}));
  CHECK(c.of(path) == 1);
  CHECK_FALSE(c.once.is_new(path, {}));
  CHECK(c.of(path) == 1);
  CHECK(c.of(folder.path() / "." / "a.wav") == 1);  // another spelling of the path
  MeasureOptions options;
  for (OptionalNumber MeasureOptions::*number :
       {&MeasureOptions::frequency_hz, &MeasureOptions::rpm, &MeasureOptions::from_s, &MeasureOptions::to_s}) {
    const int before = c.calls;
    options.*number = 1;
    CHECK(c.of(path, options) == before + 1);
    CHECK(c.of(path, options) == before + 1);
  }
  options.bands = {Band::kLeft};
  CHECK(c.of(path, options) == 6);
  options.bands = {Band::kRight};
  CHECK(c.of(path, options) == 7);
  folder.write("a.wav", "longer");
  CHECK(c.of(path) == 8);
  CHECK(c.of(path) == 8);
}

TEST_CASE("a recording without an answer is kept, and one that could not be read is tried again") {
  const TempFolder folder;
  const auto path = folder.write("a.wav", "one");
  Counting c;
  c.error = ReadingError{ReadingFault::kUnreadable, "x"};
  c.of(path);
  c.of(path);
  CHECK(c.calls == 2);
  c.error = ReadingError{ReadingFault::kNoAnswer, "x"};
  c.of(path);
  c.of(path);
  CHECK(c.calls == 3);
}

TEST_CASE("a file that is being written and a pipe are not measured") {
  const TempFolder folder;
  const auto path = folder.write("a.wav", "one");
  Counting c;
  c.awaited = true;
  const Measured waiting = c.once.of(path, "a.wav", {});
  REQUIRE(std::holds_alternative<ReadingError>(waiting));
  CHECK(std::get<ReadingError>(waiting).message == "a.wav: the recording is still being written. It is measured when it is finished.");
  c.awaited = false;
  REQUIRE(::mkfifo((folder / "b.wav").c_str(), 0600) == 0);
  CHECK(std::holds_alternative<ReadingError>(c.once.of(folder / "b.wav", "b.wav", {})));
  CHECK(c.calls == 0);
  CHECK(c.of(path) == 1);
  CHECK(c.of(folder / "none.wav") == 2);  // the measurement reports that there is no file
}
