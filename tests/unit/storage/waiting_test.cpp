// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/waiting.hpp"

#include <fcntl.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#include <thread>
#include <vector>

#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::storage;
using namespace std::chrono_literals;

namespace {

/// Makes waits short while it exists, and collects the notices that they report.
struct ShortWaits {
  std::vector<std::string> notices;
  explicit ShortWaits(std::chrono::milliseconds limit, std::chrono::milliseconds notice_after = 5ms) {
    set_wait_policy({limit, notice_after, [this](const std::string& line) { notices.push_back(line); }, ", or wait longer"});
  }
  ShortWaits(const ShortWaits&) = delete;
  ShortWaits& operator=(const ShortWaits&) = delete;
  ~ShortWaits() { set_wait_policy({}); }
};

}  // namespace

TEST_CASE("A wait ends when its condition is met, or with one notice and a refusal") {
  ShortWaits waits(40ms);
  int asked = 0;
  wait_for({"x", "it is late", "Hurry"}, [&] { return ++asked == 2; });
  CHECK(waits.notices.empty());
  CHECK(refusal_of([] {
          wait_for({"x", "it is late", "Hurry"}, [] { return false; });
        }) == "x: it is late. The program gave up after 0.04 s. Hurry, or wait longer.");
  CHECK(waits.notices == std::vector<std::string>{"x: it is late. The program waits for up to 0.04 s. Press Ctrl-C to end it."});
}

TEST_CASE("The program gives up a pipe without a writer, but reads a slow pipe to its end") {
  const TempFolder folder;
  const auto fifo = folder / "fifo";
  REQUIRE(::mkfifo(fifo.c_str(), 0600) == 0);
  const ShortWaits waits(100ms);
  CHECK(holds(refusal_of([&] { read_text(fifo, 100); }), "fifo: no program writes to this pipe. The program gave up after 0.1 s"));
  std::thread writer([&] {
    const int end = ::open(fifo.c_str(), O_WRONLY | O_CLOEXEC);
    std::this_thread::sleep_for(300ms);  // three times the limit
    static_cast<void>(::write(end, "text", 4) == 4);
    ::close(end);
  });
  const std::string text = read_text(fifo, 100);
  writer.join();
  CHECK(text == "text");
}

TEST_CASE("A pipe without a name never waits") {
  int ends[2];
  REQUIRE(::pipe(ends) == 0);
  ::close(ends[1]);
  const ShortWaits waits(0ms);
  CHECK(read_text("/proc/self/fd/" + std::to_string(ends[0]), 100).empty());
  ::close(ends[0]);
}

TEST_CASE("The program gives up a locked file and does not change it") {
  const TempFolder folder;
  const auto path = folder.write("r.jsonl", "one\n");
  const int other = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  REQUIRE(::flock(other, LOCK_EX) == 0);
  const ShortWaits waits(30ms);
  CHECK(holds(refusal_of([&] { append_line(path, "two"); }), "r.jsonl: another program holds the lock of this file. The program gave up"));
  ::close(other);
  CHECK(folder.read("r.jsonl") == "one\n");
  append_line(path, "two");
  CHECK(folder.read("r.jsonl") == "one\ntwo\n");
}
