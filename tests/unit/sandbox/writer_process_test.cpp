// SPDX-License-Identifier: GPL-3.0-or-later
#include "sandbox/writer_process.hpp"

#include <sys/wait.h>
#include <unistd.h>

#include <csignal>
#include <filesystem>
#include <functional>

#include "evenwall/error.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal;
using namespace evenwall::internal::sandbox;
namespace storage = evenwall::internal::storage;

namespace {

/// The wait status of a process that splits itself in two; the worker does `work`.
int status_when_split(const WritablePaths& paths, const std::function<int()>& work) {
  const pid_t child = ::fork();
  if (child == 0) {
    int result = 99;
    try {
      const auto ended = split_off_work(paths);
      result = ended ? *ended : work();
    } catch (...) {
    }
    ::_exit(result);
  }
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  return status;
}

int exit_status_when_split(const WritablePaths& paths, const std::function<int()>& work) {
  const int status = status_when_split(paths, work);
  REQUIRE(WIFEXITED(status));
  return WEXITSTATUS(status);
}

/// 0 if the refusal has that kind and holds the text, 1 if it is another one, 2 if nothing is refused.
int refused_with(const std::string& text, ErrorKind kind, const std::function<void()>& attempt) {
  try {
    attempt();
  } catch (const Error& error) {
    return error.kind() == kind && std::string(error.what()).find(text) != std::string::npos ? 0 : 1;
  }
  return 2;
}

}  // namespace

TEST_CASE("If a command writes no file, one process does all the work") {
  const pid_t own = ::getpid();
  CHECK_FALSE(split_off_work({}));
  CHECK(::getpid() == own);
  const TempFolder folder;
  const std::string path = (folder.path() / "a").string();
  check_target(path, WriteKind::kWhole);
  put_whole(path, "whole");
  put_line(path, "line");
  CHECK(folder.read("a") == "whole\nline\n");
}

TEST_CASE("The writing process writes the documents of the worker, and ends with the exit status of the worker") {
  const TempFolder folder;
  const std::string whole = (folder.path() / "whole").string();
  const std::string lines = (folder.path() / "lines").string();
  const std::string long_text(3'000'000, 'x');  // more than a socket holds
  const auto work = [&] {
    check_target(whole, WriteKind::kWhole);
    check_target(lines, WriteKind::kAppend);
    put_whole(whole, long_text);
    put_line(lines, "one");
    put_line(lines, "two");
    return 7;
  };
  CHECK(exit_status_when_split({whole, lines}, work) == 7);
  CHECK(folder.read("whole") == long_text);
  CHECK(folder.read("lines") == "one\ntwo\n");
  CHECK(folder.entries() == 2);
}

TEST_CASE("A worker can write only to the files that the command line names") {
  const TempFolder folder;
  const std::string named = (folder.path() / "named").string();
  const std::string other = (folder.path() / "other").string();
  CHECK(exit_status_when_split({named, {}}, [&] { return put_whole(other, "where?"), 0; }) == 0);
  CHECK(folder.read("named") == "where?");
  CHECK_FALSE(folder.read("other") == "where?");
  const auto line = [&] { return refused_with("does not name", ErrorKind::kInternal, [&] { put_line(other, "x"); }); };
  CHECK(exit_status_when_split({named, {}}, line) == 0);
}

TEST_CASE("A refusal of the writing process reaches the worker with its text and its kind") {
  const TempFolder folder;
  const std::string none = (folder.path() / "no" / "such").string();
  const auto whole = [&] { return refused_with("No such file", ErrorKind::kInput, [&] { put_whole(none, "x"); }); };
  CHECK(exit_status_when_split({none, none}, whole) == 0);
  const auto check = [&] { return refused_with("No such file", ErrorKind::kInput, [&] { check_target(none, WriteKind::kWhole); }); };
  CHECK(exit_status_when_split({none, none}, check) == 0);
  const auto torn = [&] { return refused_with("line end", ErrorKind::kInternal, [&] { put_line(none, "a\nb"); }); };
  CHECK(exit_status_when_split({none, none}, torn) == 0);
}

TEST_CASE("A file to be kept gets its name when the worker asks for it, and not before") {
  const TempFolder folder;
  WritablePaths paths;
  paths.kept = (folder.path() / "kept.wav").string();
  const auto work = [&](bool commits) {
    return [&folder, commits] {
      const storage::Descriptor file = kept_file();
      storage::write_all(file.get(), "audio", "kept.wav");
      if (std::filesystem::exists(folder / "kept.wav")) return 1;
      if (commits) commit_kept();
      return std::filesystem::exists(folder / "kept.wav") == commits ? 0 : 2;
    };
  };
  CHECK(exit_status_when_split(paths, work(false)) == 0);
  CHECK(folder.entries() == 0);
  CHECK(exit_status_when_split(paths, work(true)) == 0);
  CHECK(folder.read("kept.wav") == "audio");
  CHECK(folder.entries() == 1);
  CHECK(exit_status_when_split(paths, work(true)) == 99);  // it exists, so nothing is split
  CHECK(folder.read("kept.wav") == "audio");
}

TEST_CASE("A file that appears meanwhile is not replaced by the one to be kept") {
  const TempFolder folder;
  WritablePaths paths;
  paths.kept = (folder.path() / "kept.wav").string();
  const auto work = [&] {
    storage::write_all(kept_file().get(), "audio", "kept.wav");
    folder.write("kept.wav", "another");
    return refused_with("exists already", ErrorKind::kInput, [] { commit_kept(); });
  };
  CHECK(exit_status_when_split(paths, work) == 0);
  CHECK(folder.read("kept.wav") == "another");
  CHECK(folder.entries() == 1);
}

TEST_CASE("If a signal ends the worker, the writing process ends too and reports that signal") {
  const auto killed = [] { return ::raise(SIGKILL); };
  CHECK(WTERMSIG(status_when_split({"/dev/null", {}}, killed)) == SIGKILL);
  const auto interrupted = [] {
    std::signal(SIGTERM, SIG_DFL);
    return ::raise(SIGTERM);
  };
  CHECK(exit_status_when_split({"/dev/null", {}}, interrupted) == 128 + SIGTERM);
}

TEST_CASE("If the writing process is killed, the worker ends at once") {
  int ends[2];
  REQUIRE(::pipe(ends) == 0);
  const auto work = [&] {
    ::close(ends[0]);
    ::kill(::getppid(), SIGKILL);
    ::sleep(30);
    return 0;
  };
  CHECK(WTERMSIG(status_when_split({"/dev/null", {}}, work)) == SIGKILL);
  ::close(ends[1]);
  char none = 0;
  CHECK(::read(ends[0], &none, 1) == 0);  // returns when the worker has ended: at once, not after half a minute
  ::close(ends[0]);
}

TEST_CASE("The worker can add to the end of the log, and cannot change what it holds") {
  const TempFolder folder;
  const std::string log = folder.write("steps.csv", "old\n").string();
  const std::optional<storage::FileStamp> stale = storage::stamp_of(log);
  folder.write("steps.csv", "user's\n");
  const WritablePaths paths{.output = std::nullopt, .appended = std::nullopt, .log = log};
  CHECK(exit_status_when_split(paths, [&] {
          if (!is_split_off()) return 3;
          if (grow_log(log, stale, "row\n")) return 4;
          if (!grow_log(log, storage::stamp_of(log), "row\n")) return 5;
          return refused_with("does not name this target", ErrorKind::kInternal, [&] { put_whole(log, "gone"); });
        }) == 0);
  CHECK(folder.read("steps.csv") == "user's\nrow\n");
  CHECK(exit_status_when_split({.output = (folder / "out").string(), .appended = std::nullopt, .log = std::nullopt}, [&] {
          return refused_with("does not name this target", ErrorKind::kInternal,
                              [&] { static_cast<void>(grow_log(log, storage::stamp_of(log), "row\n")); });
        }) == 0);
  CHECK(folder.read("steps.csv") == "user's\nrow\n");
}
