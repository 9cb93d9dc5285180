// SPDX-License-Identifier: GPL-3.0-or-later
#include "documents/sha256_text.hpp"

#include "support/catch.hpp"
#include "support/refusal.hpp"

using namespace evenwall::internal::documents;

namespace {

constexpr const char* kNone = "(nothing was refused)";

}  // namespace

TEST_CASE("Only 64 hexadecimal digits in lower case are accepted, and two of them where a step may be joined") {
  const Place place{"s.json", "", "solution"};
  const auto refused = [&](const std::string& text, std::size_t most) {
    return refusal_of([&] { require_sha256(text, most, place / "audio_sha256"); });
  };
  const std::string good = std::string(32, '0') + std::string(16, '9') + std::string(8, 'a') + std::string(8, 'f');
  CHECK(refused(good, 1) == kNone);
  CHECK(refused(good, 2) == kNone);
  CHECK(refused(good + " + " + good, 2) == kNone);
  CHECK(refused("", 1).find("s.json: ") == 0);
  CHECK(refused("", 1).find("is not a SHA-256 of 64 hexadecimal digits in lower case. Measure the recording again.") != std::string::npos);
  std::string capital = good, other = good;
  capital[63] = 'F';
  other[0] = 'g';
  for (const std::string& bad : {capital, other, good.substr(1), good + "0", good + " + ", good + "+" + good, good + " + " + good.substr(1),
                                 " " + good, good + " + " + good + " + " + good}) {
    CAPTURE(bad);
    CHECK(refused(bad, 1) != kNone);
    CHECK(refused(bad, 2) != kNone);
  }
  CHECK(refused(good + " + " + good, 1) != kNone);
}
