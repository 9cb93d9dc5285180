// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/file_bytes.hpp"

#include <unistd.h>

#include "unit/audio/opened_bytes.hpp"

using namespace evenwall;
using namespace evenwall::internal::storage;

TEST_CASE("Numbers in headers are read little-endian and big-endian") {
  const std::string bytes = "\x01\x80\xff\x7f\xfe\x02\x03\x04\xf5";
  CHECK(little<std::uint16_t>(bytes, 0) == 0x8001);
  CHECK(big<std::uint16_t>(bytes, 0) == 0x0180);
  CHECK(little<std::uint32_t>(bytes, 1) == 0xFE7FFF80U);
  CHECK(big<std::uint32_t>(bytes, 1) == 0x80FF7FFEU);
  CHECK(little<std::uint64_t>(bytes, 1) == 0xF5040302FE7FFF80ULL);
  CHECK(big<std::uint64_t>(bytes, 1) == 0x80FF7FFE020304F5ULL);
}

TEST_CASE("A read from any position stops at the end of the file") {
  const Descriptor file = in_memory("0123456789");
  const FileBytes bytes(file.get(), "ten");
  CHECK((bytes.size() == 10 && bytes.name() == "ten"));
  CHECK(bytes.read(0, 10) == "0123456789");
  CHECK(bytes.read(7, 100) == "789");
  CHECK(bytes.read(10, 1).empty());
  CHECK(bytes.read(3, 0).empty());
  CHECK((bytes.left_from(9) == 1 && bytes.left_from(10) == 0 && bytes.left_from(11) == 0));
  for (const std::uint64_t far : {1ULL << 32U, 1ULL << 63U, ~0ULL}) {
    CHECK(bytes.left_from(far) == 0);
    CHECK(bytes.read(far, 100).empty());
  }
  CHECK(bytes.read(2, 3) == "234");  // the earlier reads moved no position
}

TEST_CASE("A file that shrinks while it is open gives the bytes that it still has") {
  const Descriptor file = in_memory("0123456789");
  const FileBytes bytes(file.get(), "ten");
  REQUIRE(::ftruncate(file.get(), 4) == 0);
  CHECK(bytes.read(2, 8) == "23");
}

TEST_CASE("A file that cannot be read is refused with the message of the system") {
  CHECK(refusal_of([] { FileBytes(-1, "gone"); }) == "gone: the file cannot be read: Bad file descriptor. Try again.");
  Descriptor file = in_memory("0123456789");
  const FileBytes bytes(file.get(), "ten");
  file.close();
  CHECK(refusal_of([&] { static_cast<void>(bytes.read(0, 1)); }) == "ten: the file cannot be read: Bad file descriptor. Try again.");
}
