// SPDX-License-Identifier: GPL-3.0-or-later
#include "audio/sha256.hpp"

#include <string_view>

#include "support/catch.hpp"

using namespace evenwall::internal::audio;

namespace {

std::string digest_of(std::string_view text, std::size_t part) {
  Sha256 hash;
  for (std::size_t at = 0; at < text.size(); at += part) {
    const std::string_view bytes = text.substr(at, part);
    hash.add(reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size());
  }
  return hash.take_digest();
}

}  // namespace

TEST_CASE("The digests are those of the examples of FIPS 180-4 (from memory), in whatever parts the bytes arrive") {
  const std::string million(1'000'000, 'a');
  for (const std::size_t part : {std::size_t{1}, std::size_t{7}, std::size_t{64}, std::size_t{1'000'000}}) {
    CAPTURE(part);
    CHECK(digest_of("abc", part) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    CHECK(digest_of("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq", part) ==
          "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
    CHECK(digest_of(million, part) == "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0");
  }
  CHECK(digest_of("", 1) == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
}

TEST_CASE("After a digest was taken, a new one begins") {
  Sha256 hash;
  const std::uint8_t byte = 'x';
  hash.add(&byte, 1);
  const std::string first = hash.take_digest();
  hash.add(&byte, 1);
  CHECK(hash.take_digest() == first);
}
