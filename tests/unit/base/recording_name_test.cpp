// SPDX-License-Identifier: GPL-3.0-or-later
#include "base/recording_name.hpp"

#include "evenwall/model.hpp"
#include "support/catch.hpp"

using namespace evenwall;
using internal::base::recording_name;

TEST_CASE("A part of a recording is named by its beginning") {
  LogEntry entry;
  entry.capture = "evening.wav";
  CHECK(recording_name(entry) == "evening.wav");
  entry.to_s = 12.25;
  CHECK(recording_name(entry) == "evening.wav at 0 s");
  entry.from_s = 41.5;
  CHECK(recording_name(entry) == "evening.wav at 41.5 s");
  entry.to_s.reset();
  CHECK(recording_name(entry) == "evening.wav at 41.5 s");
  entry.capture = "a\nb.wav";
  CHECK(recording_name(entry) == "a\\x0Ab.wav at 41.5 s");
  LogEntry other = entry;
  CHECK(internal::base::same_part(entry, other));
  other.from_s = 40;
  CHECK_FALSE(internal::base::same_part(entry, other));
}
