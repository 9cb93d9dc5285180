// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/folder_looks.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall::internal::storage;
using namespace std::chrono_literals;
namespace fs = std::filesystem;

namespace {

using Names = std::vector<std::string>;

/// Files end in "whole" if they are whole. Names that begin with a dot do not matter.
FolderLooks::Rules rules() {
  return {[](const std::string& name) { return name.front() != '.'; },
          [](const fs::path& path) {
            std::ostringstream text;
            text << std::ifstream(path).rdbuf();
            return text.str().ends_with("whole");
          }};
}

/// Looks with a clock of its own. `with_notices`: whether inotify is in use.
struct Watched {
  TempFolder place;
  fs::path folder = place / "folder";
  FolderLooks::Clock::time_point now = FolderLooks::Clock::now();
  std::optional<FolderLooks> looks;

  explicit Watched(bool with_notices) {
    fs::create_directory(folder);
    looks.emplace(folder, rules(), with_notices ? FolderNotices::of(folder) : nullptr);
    REQUIRE((looks->descriptor() >= 0) == with_notices);
    CHECK_FALSE(looks->look(now).any());
  }
  void write(const std::string& name, const std::string& text) const { std::ofstream(folder / name) << text; }
  FolderChanges after(std::chrono::milliseconds time) { return looks->look(now += time); }
};

}  // namespace

TEST_CASE("with notices a whole file is finished when it is closed, once in each state") {
  Watched w(true);
  const int file = ::open((w.folder / "a").c_str(), O_WRONLY | O_CREAT, 0600);
  REQUIRE(::write(file, "whole", 5) == 5);
  CHECK_FALSE(w.after(0ms).any());
  CHECK(w.looks->is_awaited("a"));
  CHECK_FALSE(w.after(5000ms).any());  // at rest, but not closed
  ::close(file);
  CHECK(w.after(0ms).finished == Names{"a"});
  CHECK_FALSE(w.looks->is_awaited("a"));
  CHECK(w.looks->is_known("a"));
  CHECK_FALSE(w.looks->is_known("b"));
  CHECK_FALSE(w.after(20s).any());
  w.write(".hidden", "whole");
  CHECK_FALSE(w.after(20s).any());
  w.write("a", "again whole");
  CHECK(w.after(0ms).finished == Names{"a"});
  w.write(".b", "whole");
  fs::rename(w.folder / ".b", w.folder / "b");
  CHECK(w.after(0ms).finished == Names{"b"});
}

TEST_CASE("without notices a whole file is finished if two looks find no change") {
  Watched w(false);
  w.write("a", "whole");
  CHECK_FALSE(w.after(0ms).any());
  w.write("a", "longer whole");
  CHECK_FALSE(w.after(1000ms).any());
  CHECK(w.looks->is_awaited("a"));
  CHECK(w.after(1000ms).finished == Names{"a"});
  CHECK_FALSE(w.after(1000ms).any());
  w.write("a", "whole");
  CHECK_FALSE(w.after(1000ms).any());
  CHECK(w.after(1000ms).finished == Names{"a"});
}

TEST_CASE("a file that is not whole is waited for, and given up after ten seconds without a change") {
  for (const bool with_notices : {true, false}) {
    Watched w(with_notices);
    w.write("a", "half");
    CHECK_FALSE(w.after(0ms).any());
    CHECK_FALSE(w.after(9000ms).any());
    w.write("a", "half of more");
    CHECK_FALSE(w.after(0ms).any());
    CHECK_FALSE(w.after(9900ms).any());
    CHECK(w.after(100ms).finished == Names{"a"});
    CHECK_FALSE(w.after(10s).any());
    w.write("a", "and now it is whole");
    w.after(0ms);
    w.after(1000ms);
    CHECK_FALSE(w.looks->is_awaited("a"));
  }
}

TEST_CASE("old files of the first look are finished at once, new ones after a second, also with notices") {
  for (const bool with_notices : {true, false}) {
    const TempFolder folder;
    folder.write("new", "whole");
    folder.write("old", "half");
    fs::last_write_time(folder / "old", fs::file_time_type::clock::now() - 1min);
    folder.write("seconds", "half");
    fs::last_write_time(folder / "seconds", fs::file_time_type::clock::now() - 4s);
    folder.write("growing", "half");
    fs::last_write_time(folder / "growing", fs::file_time_type::clock::now() - 2s);
    folder.write("future", "whole");
    fs::last_write_time(folder / "future", fs::file_time_type::clock::now() + 1h);
    FolderLooks looks(folder.path(), rules(), with_notices ? FolderNotices::of(folder.path()) : nullptr);
    const auto now = FolderLooks::Clock::now();
    CHECK(looks.look(now).finished == Names{"old", "seconds"});
    folder.write("growing", "more than half");
    CHECK(looks.look(now + 1100ms).finished == Names{"future", "new"});
    CHECK_FALSE(looks.look(now + 9900ms).any());
    CHECK(looks.look(now + 11100ms).finished == Names{"growing"});
  }
}

TEST_CASE("a file that vanishes is reported if it was finished") {
  Watched w(true);
  w.write("a", "whole");
  w.write("b", "half");
  CHECK(w.after(0ms).finished == Names{"a"});
  fs::remove(w.folder / "a");
  fs::remove(w.folder / "b");
  const FolderChanges changes = w.after(0ms);
  CHECK(changes.gone == Names{"a"});
  CHECK(changes.finished.empty());
}

TEST_CASE("a folder that vanishes and returns is looked at anew, without notices") {
  for (const bool with_notices : {true, false}) {
    Watched w(with_notices);
    w.write("a", "whole");
    w.after(0ms);
    w.after(1000ms);
    fs::rename(w.folder, w.place / "away");
    const FolderChanges left = w.after(0ms);
    CHECK(left.left);
    CHECK(left.gone.empty());
    CHECK_FALSE(w.after(1000ms).any());
    fs::rename(w.place / "away", w.folder);
    const FolderChanges back = w.after(0ms);
    CHECK(back.back);
    CHECK(w.looks->descriptor() == -1);
    w.after(1000ms);
    CHECK_FALSE(w.looks->is_awaited("a"));
    // Another folder gets the name between two looks.
    fs::remove_all(w.folder);
    fs::create_directory(w.folder);
    w.write("c", "whole");
    CHECK(w.after(0ms).gone == Names{"a"});
    CHECK(w.after(1000ms).finished == Names{"c"});
  }
}

TEST_CASE("a state that the caller has written is not reported") {
  Watched w(true);
  w.write("log", "whole");
  CHECK(w.after(0ms).finished == Names{"log"});
  w.write("log", "whole and whole");
  w.looks->accept("log");
  CHECK_FALSE(w.after(0ms).any());
  w.looks->accept("none");
  CHECK_FALSE(w.after(0ms).any());
}

TEST_CASE("looks are rare with notices, and every second while a file is awaited") {
  Watched w(true);
  CHECK(w.looks->pause() == 5000ms);
  w.write("a", "half");
  w.after(0ms);
  CHECK(w.looks->pause() == 1000ms);
  Watched polled(false);
  CHECK(polled.looks->pause() == 1000ms);
}
