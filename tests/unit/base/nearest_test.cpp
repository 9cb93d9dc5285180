// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/nearest.hpp"

#include <algorithm>
#include <random>

#include "support/catch.hpp"

using namespace evenwall::internal::base;

namespace {

constexpr std::size_t kNoLimit = 1000;

/// The definition, without a table: slow, but obvious.
std::size_t slow_distance(const std::string& a, const std::string& b) {
  if (a.empty() || b.empty()) return a.size() + b.size();
  const std::string a1 = a.substr(0, a.size() - 1), b1 = b.substr(0, b.size() - 1);
  std::size_t least =
      std::min({slow_distance(a1, b) + 1, slow_distance(a, b1) + 1, slow_distance(a1, b1) + (a.back() == b.back() ? 0 : 1)});
  if (a.size() > 1 && b.size() > 1 && a.back() == b[b.size() - 2] && b.back() == a[a.size() - 2])
    least = std::min(least, slow_distance(a.substr(0, a.size() - 2), b.substr(0, b.size() - 2)) + 1);
  return least;
}

}  // namespace

TEST_CASE("A change is an insertion, a removal, a replacement or an exchange of adjacent bytes; case does not count") {
  const struct {
    const char *a, *b;
    std::size_t distance;
  } cases[] = {{"", "", 0},
               {"", "abc", 3},
               {"solve", "solve", 0},
               {"slove", "solve", 1},
               {"meazure", "measure", 1},
               {"kitten", "sitting", 3},
               {"Upright.WAV", "upright.wav", 0},
               {"ca", "abc", 3},
               {"step-1.wav", "step-01.wav", 1}};
  for (const auto& c : cases) {
    INFO(c.a << " " << c.b);
    CHECK(edit_distance(c.a, c.b, kNoLimit) == c.distance);
    CHECK(edit_distance(c.b, c.a, kNoLimit) == c.distance);
  }
}

TEST_CASE("The distance equals its definition for random texts, and a limit only caps it") {
  std::mt19937 random(20);
  const auto text = [&] {
    std::string made(random() % 7, 'a');
    for (char& c : made) c = static_cast<char>('a' + random() % 3);
    return made;
  };
  for (int i = 0; i < 1000; ++i) {
    const std::string a = text(), b = text();
    const std::size_t limit = random() % 5;
    INFO(a << " " << b << " " << limit);
    CHECK(edit_distance(a, b, kNoLimit) == slow_distance(a, b));
    CHECK(edit_distance(a, b, limit) == std::min(slow_distance(a, b), limit + 1));
  }
}

TEST_CASE("The nearest name is suggested only if it is near") {
  const std::vector<std::string> commands{"measure", "solve", "calibrate", "survey", "report", "simulate"};
  CHECK(nearest_name("meazure", commands) == "measure");
  CHECK(nearest_name("slove", commands) == "solve");
  CHECK(nearest_name("Solve", commands) == "solve");
  CHECK(nearest_name("calibration", commands) == "calibrate");
  CHECK_FALSE(nearest_name("conjure", commands));
  CHECK_FALSE(nearest_name("x", {"solve"}));
  CHECK(nearest_name("x", {"y"}) == "y");
  CHECK_FALSE(nearest_name("a.wav", {"a.wav"}));
  CHECK(nearest_name("a.wav", {"a.wav", "c.wav", "b.wav"}) == "c.wav");
  CHECK_FALSE(nearest_name("solve", {}));
}
