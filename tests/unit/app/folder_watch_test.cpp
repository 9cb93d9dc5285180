// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/folder_watch.hpp"

#include <unistd.h>

#include <thread>

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall::internal;
using namespace evenwall::internal::app;
using namespace std::chrono_literals;
namespace fs = std::filesystem;

namespace {

FolderWatch watch_of(const TempFolder& folder, int output, bool with_notices) {
  return {storage::FolderLooks(folder.path(), {[](const std::string&) { return true; }, [](const fs::path&) { return true; }},
                               with_notices ? storage::FolderNotices::of(folder.path()) : nullptr),
          output};
}

struct Pipe {
  int ends[2]{};
  Pipe() { REQUIRE(::pipe(ends) == 0); }
};

double seconds_since(std::chrono::steady_clock::time_point start) {
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

}  // namespace

TEST_CASE("a change ends the wait: at once with notices, at the next look without them") {
  for (const bool with_notices : {true, false}) {
    const TempFolder folder;
    const Pipe output;
    FolderWatch watch = watch_of(folder, output.ends[1], with_notices);
    CHECK_FALSE(watch.look().any());
    const auto start = std::chrono::steady_clock::now();
    const std::jthread writer([&] {
      std::this_thread::sleep_for(100ms);
      folder.write("a", "x");
    });
    const Waited waited = watch.wait(-1);
    CHECK(waited.changes.finished == std::vector<std::string>{"a"});
    CHECK_FALSE(waited.input);
    CHECK_FALSE(waited.reader_gone);
    if (!with_notices) CHECK(seconds_since(start) > 0.9);  // two looks
  }
}

TEST_CASE("many changes in a row are one result") {
  const TempFolder folder;
  const Pipe output;
  FolderWatch watch = watch_of(folder, output.ends[1], true);
  watch.look();
  const std::jthread writer([&] {
    for (int i = 0; i < 5; ++i) {
      folder.write(std::string(1, static_cast<char>('a' + i)), "x");
      std::this_thread::sleep_for(5ms);
    }
  });
  std::size_t results = 0, files = 0;
  while (files < 5) {
    files += watch.wait(-1).changes.finished.size();
    ++results;
  }
  CHECK(results <= 2);  // a busy machine may pause the writer
}

TEST_CASE("typed text ends the wait, and so does the end of the reader") {
  const TempFolder folder;
  const Pipe output, input;
  FolderWatch watch = watch_of(folder, output.ends[1], true);
  watch.look();
  REQUIRE(::write(input.ends[1], "x\n", 2) == 2);
  CHECK(watch.wait(input.ends[0]).input);
  ::close(output.ends[0]);
  const Waited waited = watch.wait(-1);
  CHECK(waited.reader_gone);
  CHECK_FALSE(waited.input);
}
