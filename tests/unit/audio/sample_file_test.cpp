// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/sample_file.hpp"

#include <fcntl.h>

#include <chrono>
#include <filesystem>
#include <fstream>

#include "support/catch.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::audio;
using namespace evenwall::internal::storage;

TEST_CASE("A read returns the bytes that exist, and distinguishes the end of the file from an error") {
  const TempFolder folder;
  const auto path = folder.write("a", "0123456789");
  const SampleFile file(Descriptor(::open(path.c_str(), O_RDONLY)), "a");
  char out[8] = {};
  int error_number = 0;
  CHECK(file.read(2, 4, out, error_number) == 4);
  CHECK(std::string(out, 4) == "2345");
  CHECK(file.read(7, 8, out, error_number) == 3);
  CHECK(error_number == 0);
  // This descriptor can only be written to.
  const SampleFile closed(Descriptor(::open(path.c_str(), O_WRONLY)), "a");
  CHECK(closed.read(0, 4, out, error_number) == 0);
  CHECK(error_number == EBADF);
}

TEST_CASE("A file is refused only if it has changed since it was opened") {
  const TempFolder folder;
  const auto path = folder.write("a", "0123456789");
  SampleFile file(Descriptor(::open(path.c_str(), O_RDONLY)), "a");
  CHECK_NOTHROW(file.require_unchanged(10));
  std::ofstream(path, std::ios::app) << "more";
  CHECK(refusal_of([&] { file.require_unchanged(1'000'000); }) ==
        "a: the file changed while it was being read. It is not measured. Measure it again when it is finished.");
}

TEST_CASE("A file that was shortened or whose bytes were replaced is not the same") {
  const TempFolder folder;
  const auto path = folder.write("a", "0123456789");
  const SampleFile file(Descriptor(::open(path.c_str(), O_RDONLY)), "a");
  CHECK_NOTHROW(file.require_same());
  std::filesystem::last_write_time(path, std::filesystem::last_write_time(path) + std::chrono::seconds(1));  // as a write of other bytes
  CHECK(refusal_of([&] { file.require_same(); }) ==
        "a: the file changed while it was being read. It is not measured. Measure it again when it is finished.");
  const SampleFile again(Descriptor(::open(path.c_str(), O_RDONLY)), "a");
  std::filesystem::resize_file(path, 5);
  CHECK(refusal_of([&] { again.require_same(); }).starts_with("a: the file changed"));
}

TEST_CASE("Refusals of a short file and of a failed medium name the frame") {
  const SampleFile file(Descriptor(::open("/dev/null", O_RDONLY)), "a.wav");
  CHECK(refusal_of([&] { file.refuse_short(12, 20); }) ==
        "a.wav: the audio ends at frame 12, but 20 frames are declared. Copy or record it again.");
  CHECK(refusal_of([&] { file.refuse_medium(12, EIO); }).find("a.wav: the file cannot be read after frame 12: Input/output error") == 0);
}
