// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/in_order.hpp"

#include <stdexcept>

#include "support/catch.hpp"

using evenwall::internal::app::in_order;

TEST_CASE("results are given in the order of the work with any number of threads") {
  for (const int jobs : {0, 1, 3, 50}) {
    std::vector<std::size_t> taken;
    const auto work = [](std::size_t i) {
      if (i % 3 == 0) std::this_thread::sleep_for(std::chrono::milliseconds(2));
      return i * i;
    };
    in_order(20, jobs, work, [&](std::size_t i, std::size_t square) {
      CHECK(square == i * i);
      taken.push_back(i);
    });
    REQUIRE(taken.size() == 20);
    CHECK(std::is_sorted(taken.begin(), taken.end()));
  }
}

TEST_CASE("an empty list of work gives no result") {
  in_order(
      0, 4, [](std::size_t i) { return i; }, [](std::size_t, std::size_t) { FAIL("a result was given although there is no work"); });
  SUCCEED();
}

TEST_CASE("an exception of the work reaches the caller after the results before it") {
  std::size_t taken = 0;
  const auto work = [](std::size_t i) { return i == 5 ? throw std::runtime_error("five") : i; };
  CHECK_THROWS_WITH(in_order(9, 2, work, [&](std::size_t, std::size_t) { ++taken; }), "five");
  CHECK(taken == 5);
}

TEST_CASE("many small items are all given, although few results may wait") {
  for (const int jobs : {1, 2, 7}) {
    std::size_t taken = 0;
    in_order(
        5000, jobs, [](std::size_t i) { return i; },
        [&](std::size_t i, std::size_t result) {
          if (i == 700) std::this_thread::sleep_for(std::chrono::milliseconds(20));  // the threads now wait for room
          CHECK(result == i);
          ++taken;
        });
    CHECK(taken == 5000);
  }
}

TEST_CASE("an exception of the caller ends threads that wait for room") {
  const auto refuse = [](std::size_t i, std::size_t) {
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
    if (i == 1) throw std::runtime_error("refused");
  };
  CHECK_THROWS_WITH(in_order(
                        5000, 3, [](std::size_t i) { return i; }, refuse),
                    "refused");
}
