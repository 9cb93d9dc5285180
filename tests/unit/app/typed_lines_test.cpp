// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/typed_lines.hpp"

#include <unistd.h>

#include <string>

#include "support/catch.hpp"

using namespace evenwall::internal::app;

namespace {

struct TypedPipe {
  int ends[2]{};
  TypedPipe() { REQUIRE(::pipe(ends) == 0); }
  void write(const std::string& text) const { REQUIRE(::write(ends[1], text.data(), text.size()) == static_cast<ssize_t>(text.size())); }
};

}  // namespace

TEST_CASE("whole lines are returned one by one, and a part of a line is kept until its end comes") {
  const TypedPipe pipe;
  TypedLines lines(pipe.ends[0]);
  pipe.write("one\ntwo\nth");
  CHECK(lines.read() == "one");
  CHECK(lines.read() == "two");
  CHECK_FALSE(lines.read());
  pipe.write("ree\n");
  CHECK(lines.read() == "three");
  CHECK_FALSE(lines.has_ended());
  ::close(pipe.ends[1]);
  CHECK_FALSE(lines.read());
  CHECK(lines.has_ended());
}

TEST_CASE("what was typed before is discarded") {
  const TypedPipe pipe;
  TypedLines lines(pipe.ends[0]);
  lines.discard();  // does not wait
  pipe.write("old\nolder");
  lines.discard();
  pipe.write("new\n");
  CHECK(lines.read() == "new");
  ::close(pipe.ends[1]);
  lines.discard();
  CHECK(lines.has_ended());
}
