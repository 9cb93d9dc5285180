// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/kept_stream.hpp"

#include <fcntl.h>
#include <unistd.h>

#include "storage/file_bytes.hpp"
#include "support/catch.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall::internal::storage;

namespace {

/// A pipe that holds these bytes and has no writer any more.
Descriptor stream_of(std::string_view bytes) {
  int ends[2];
  REQUIRE(::pipe(ends) == 0);
  write_all(ends[1], bytes, "pipe");
  ::close(ends[1]);
  return Descriptor(ends[0]);
}

Descriptor made(const std::filesystem::path& path) { return Descriptor(::open(path.c_str(), O_RDWR | O_CREAT | O_EXCL, 0600)); }

}  // namespace

TEST_CASE("The stream is in the file when it is complete, and the file that is returned cannot be written") {
  const TempFolder folder;
  int complete = 0;
  const Descriptor stream = stream_of("as it came");
  const auto count = [&] {
    ++complete;
    CHECK(folder.read("kept") == "as it came");
  };
  const Descriptor copy = copy_and_keep(stream.get(), {made(folder / "kept"), "kept", count}, "stream");
  CHECK(complete == 1);
  CHECK(FileBytes(copy.get(), "kept").read(0, 100) == "as it came");
  CHECK(write_fully(copy.get(), "x") != 0);
  CHECK(folder.read("kept") == "as it came");
}

TEST_CASE("An empty stream and a stream that breaks off are not complete") {
  const TempFolder folder;
  int complete = 0;
  const auto count = [&] { ++complete; };
  const Descriptor empty = stream_of("");
  copy_and_keep(empty.get(), {made(folder / "a"), "a", count}, "stream");
  const Descriptor no_stream(::open(folder.path().c_str(), O_RDONLY | O_DIRECTORY));
  CHECK(refusal_of([&] {
          copy_and_keep(no_stream.get(), {made(folder / "b"), "b", count}, "stream");
        }).find("cannot be read") != std::string::npos);
  CHECK(complete == 0);
}

TEST_CASE("A stream is kept once") {
  CHECK_FALSE(take_kept_stream());
  keep_standard_input({{}, "kept", [] {}});
  const auto taken = take_kept_stream();
  REQUIRE(taken);
  CHECK(taken->name == "kept");
  CHECK_FALSE(take_kept_stream());
}
