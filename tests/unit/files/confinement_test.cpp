#include "files/confinement.hpp"

#include <fcntl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <functional>
#include <thread>

#include "evenwall/files.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;

namespace {

bool kernel_has_landlock() { return ::syscall(SYS_landlock_create_ruleset, nullptr, 0, 1U) >= 3; }

/// What `attempt` returns in a process of its own that is confined; 255 where it throws.
int when_confined(const Leave& leave, const std::function<int()>& attempt) {
  const pid_t child = ::fork();
  if (child == 0) {
    confine(leave);
    int result = 255;
    try {
      result = attempt();
    } catch (...) {
    }
    ::_exit(result);
  }
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  REQUIRE(WIFEXITED(status));
  return WEXITSTATUS(status);
}

Leave whole(const std::string& path) { return {{path}, {}, false}; }
Leave at_its_end(const std::string& path) { return {{}, {path}, false}; }

int create(const std::string& path) { return ::open(path.c_str(), O_WRONLY | O_CREAT, 0600) >= 0 ? 0 : errno; }
int change(const std::string& path) { return ::open(path.c_str(), O_WRONLY) >= 0 ? 0 : errno; }

}  // namespace

TEST_CASE("A confined process reads, and neither makes, changes nor removes a file") {
  if (!kernel_has_landlock()) return;
  const TempFolder folder;
  folder.write("there", "as it was");
  const std::string place = folder.path().string();
  CHECK(when_confined({}, [&] { return create(place + "/new"); }) == EACCES);
  CHECK(when_confined({}, [&] { return change(place + "/there"); }) == EACCES);
  CHECK(when_confined({}, [&] { return ::unlink((place + "/there").c_str()) == 0 ? 0 : errno; }) == EACCES);
  CHECK(when_confined({}, [&] { return ::truncate((place + "/there").c_str(), 0) == 0 ? 0 : errno; }) == EACCES);
  CHECK(when_confined({}, [&] { return ::mkdir((place + "/new").c_str(), 0700) == 0 ? 0 : errno; }) == EACCES);
  CHECK(when_confined({}, [&] { return ::symlink("there", (place + "/new").c_str()) == 0 ? 0 : errno; }) == EACCES);
  CHECK(when_confined({}, [&] {
          int result = 0;
          std::thread([&] { result = create(place + "/new"); }).join();
          return result;
        }) == EACCES);  // threads that start later too
  CHECK(when_confined({}, [&] { return ::open((place + "/there").c_str(), O_RDONLY) >= 0 ? 0 : errno; }) == 0);
  CHECK(folder.entries() == 1);
  CHECK(folder.read("there") == "as it was");
}

TEST_CASE("Its outputs, and open descriptors, are still written") {
  const TempFolder folder;
  folder.write("old", "as it was");
  const std::string place = folder.path().string();
  ::mkdir((place + "/other").c_str(), 0700);
  REQUIRE(::symlink("other/target", (place + "/link").c_str()) == 0);
  REQUIRE(::mkfifo((place + "/fifo").c_str(), 0600) == 0);
  for (const char* name : {"/old", "/new", "/link"}) {
    const std::string path = place + name;
    CHECK(when_confined(whole(path), [&] { return write_whole(path, "whole"), 0; }) == 0);
    CHECK(folder.read(name + 1) == "whole");
  }
  const std::string lines = place + "/lines.jsonl";
  const auto append = [&] { return append_line(lines, "{}"), append_line(lines, "{}"), 0; };
  CHECK(when_confined(at_its_end(lines), append) == 0);  // makes it
  CHECK(when_confined(at_its_end(lines), append) == 0);
  CHECK(folder.read("lines.jsonl") == "{}\n{}\n{}\n{}\n");
  CHECK(when_confined(whole("/dev/null"), [&] { return write_whole("/dev/null", "gone"), 0; }) == 0);
  const int fifo = ::open((place + "/fifo").c_str(), O_RDONLY | O_NONBLOCK);
  CHECK(when_confined(whole(place + "/fifo"), [&] { return write_whole(place + "/fifo", "gone"), 0; }) == 0);
  ::close(fifo);
  const int open = ::open((place + "/old").c_str(), O_WRONLY | O_TRUNC);
  CHECK(when_confined({}, [&] { return ::write(open, "by descriptor", 13) == 13 ? 0 : errno; }) == 0);
  ::close(open);
  if (!kernel_has_landlock()) return;
  CHECK(when_confined(at_its_end(lines), [&] { return create(place + "/beside"); }) == EACCES);
  CHECK(when_confined(whole(place + "/other/target"), [&] { return create(place + "/beside"); }) == EACCES);
  CHECK(when_confined(whole("/dev/null"), [&] { return create("/dev/evenwall-test"); }) == EACCES);
}

TEST_CASE("The temporary folder is left where a stream must be spooled") {
  if (!kernel_has_landlock()) return;
  const auto spooled = [] { return ::open("/tmp", O_TMPFILE | O_RDWR, 0600) >= 0 ? 0 : errno; };
  ::unsetenv("TMPDIR");
  CHECK(when_confined({{}, {}, true}, spooled) == 0);
  CHECK(when_confined({{}, {}, false}, spooled) == EACCES);
}

TEST_CASE("No socket and no program, whatever is left") {
  const Leave most{{"/dev/null"}, {}, true};
  CHECK(when_confined(most, [] { return ::socket(AF_INET, SOCK_DGRAM, 0) >= 0 ? 0 : errno; }) == EPERM);
  CHECK(when_confined(most, [] { return ::socket(AF_UNIX, SOCK_STREAM, 0) >= 0 ? 0 : errno; }) == EPERM);
  CHECK(when_confined(most, [] { return ::execl("/bin/true", "true", nullptr), errno; }) == EPERM);
  CHECK(::socket(AF_UNIX, SOCK_STREAM, 0) >= 0);  // the test's own process is not confined
}
