// SPDX-License-Identifier: GPL-3.0-or-later
#include "evenwall/text_files.hpp"

#include <unistd.h>

#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;

TEST_CASE("Text files are read up to their limit") {
  const TempFolder folder;
  CHECK(read_text(folder.write("a", "12345"), 5) == "12345");
  CHECK(holds(refusal_of([&] { read_text(folder.write("a", "123456"), 5); }), "longer than 5 bytes"));
  CHECK(read_text(folder.write("e", ""), 5).empty());
  const std::string long_text(200000, 'x');  // several blocks
  CHECK(read_text(folder.write("l", long_text), 200000) == long_text);
  CHECK(holds(refusal_of([&] { read_text(folder / "l", 199999); }), "longer than 199999 bytes"));
  CHECK(holds(refusal_of([&] { read_text(folder.path(), 5); }), "this is a folder"));
  CHECK(holds(refusal_of([] { read_text("/dev/zero", 5); }), "this is a device"));
}

TEST_CASE("Streams are read up to their limit") {
  const auto sent = [](std::string_view bytes, std::size_t limit_bytes) {
    int ends[2];
    REQUIRE(::pipe(ends) == 0);
    REQUIRE(::write(ends[1], bytes.data(), bytes.size()) == static_cast<ssize_t>(bytes.size()));
    ::close(ends[1]);
    std::string got;
    const std::string refusal = refusal_of([&] { got = read_stream(ends[0], limit_bytes); });
    ::close(ends[0]);
    return got.empty() ? refusal : got;
  };
  CHECK(sent("abc", 3) == "abc");
  CHECK(holds(sent("abcd", 3), "stream: the input is longer than 3 bytes"));
}

TEST_CASE("A text is written whole and read back") {
  const TempFolder folder;
  const std::string text("\0\xff bytes\n", 9);
  write_whole(folder / "a", text);
  CHECK(read_text(folder / "a", 100) == text);
}
