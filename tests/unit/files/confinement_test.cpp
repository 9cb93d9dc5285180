#include "files/confinement.hpp"

#include <fcntl.h>
#include <sys/ioctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <sys/xattr.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <functional>
#include <thread>

#include "files/descriptor.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;

namespace {

bool kernel_has_landlock() { return ::syscall(SYS_landlock_create_ruleset, nullptr, 0, 1U) >= 3; }

constexpr int kThrown = 255;

/// What `attempt` returns in a process of its own that is confined; kThrown where it throws.
int when_confined(const std::function<int()>& attempt) {
  const pid_t child = ::fork();
  if (child == 0) {
    confine();
    int result = kThrown;
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

int create(const std::string& path) { return ::open(path.c_str(), O_WRONLY | O_CREAT, 0600) >= 0 ? 0 : errno; }
int change(const std::string& path) { return ::open(path.c_str(), O_WRONLY) >= 0 ? 0 : errno; }

}  // namespace

TEST_CASE("A confined process reads, and neither makes, changes nor removes a file") {
  if (!kernel_has_landlock()) return;
  const TempFolder folder;
  folder.write("there", "as it was");
  const std::string place = folder.path().string();
  CHECK(when_confined([&] { return create(place + "/new"); }) == EACCES);
  CHECK(when_confined([&] { return change(place + "/there"); }) == EACCES);
  CHECK(when_confined([&] { return ::unlink((place + "/there").c_str()) == 0 ? 0 : errno; }) == EACCES);
  CHECK(when_confined([&] { return ::truncate((place + "/there").c_str(), 0) == 0 ? 0 : errno; }) == EACCES);
  CHECK(when_confined([&] { return ::mkdir((place + "/new").c_str(), 0700) == 0 ? 0 : errno; }) == EACCES);
  CHECK(when_confined([&] { return ::symlink("there", (place + "/new").c_str()) == 0 ? 0 : errno; }) == EACCES);
  CHECK(when_confined([&] {
          int result = 0;
          std::thread([&] { result = create(place + "/new"); }).join();
          return result;
        }) == EACCES);  // threads that start later too
  CHECK(when_confined([&] { return ::open((place + "/there").c_str(), O_RDONLY) >= 0 ? 0 : errno; }) == 0);
  CHECK(folder.entries() == 1);
  CHECK(folder.read("there") == "as it was");
}

TEST_CASE("Modes, owners, times and attributes stay, by path and by descriptor") {
  const TempFolder folder;
  folder.write("there", "as it was");
  const std::string path = (folder.path() / "there").string();
  const int file = ::open(path.c_str(), O_RDWR);
  const auto errno_of = [](int result) { return result == 0 ? 0 : errno; };
  CHECK(when_confined([&] { return errno_of(::chmod(path.c_str(), 0777)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::fchmod(file, 0777)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::chown(path.c_str(), 1, 1)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::futimens(file, nullptr)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::setxattr(path.c_str(), "user.a", "b", 1, 0)); }) == EPERM);
  ::close(file);
}

TEST_CASE("Open descriptors are still written, and streams copied where that was prepared") {
  const TempFolder folder;
  folder.write("old", "as it was");
  const int open = ::open((folder.path() / "old").c_str(), O_WRONLY | O_TRUNC);
  CHECK(when_confined([&] { return ::write(open, "by descriptor", 13) == 13 ? 0 : errno; }) == 0);
  ::close(open);
  CHECK(folder.read("old") == "by descriptor");
  prepare_spools(1);
  const auto spooled = [] {
    int ends[2];
    if (::pipe(ends) != 0 || ::write(ends[1], "abc", 3) != 3 || ::close(ends[1]) != 0) return 2;
    char copy[4] = {};
    return ::pread(spool(ends[0], "stream").get(), copy, 4, 0) == 3 && std::string(copy) == "abc" ? 0 : 3;
  };
  CHECK(when_confined(spooled) == 0);  // the fork takes the prepared one
  spooled();                           // and so does this process, which had it too
  if (kernel_has_landlock()) CHECK(when_confined(spooled) == kThrown);
}

TEST_CASE("No socket, no program and no process; threads and abort go on") {
  CHECK(when_confined([] { return ::socket(AF_INET, SOCK_DGRAM, 0) >= 0 ? 0 : errno; }) == EPERM);
  CHECK(when_confined([] { return ::socket(AF_UNIX, SOCK_STREAM, 0) >= 0 ? 0 : errno; }) == EPERM);
  CHECK(when_confined([] { return ::execl("/bin/true", "true", nullptr), errno; }) == EPERM);
  CHECK(when_confined([] { return ::kill(::getppid(), 0) == 0 ? 0 : errno; }) == EPERM);
  CHECK(when_confined([] { return ::ioctl(STDIN_FILENO, TIOCSTI, "x") == 0 ? 0 : errno; }) == EPERM);
  CHECK(when_confined([] { return ::syscall(SYS_tgkill, ::getppid(), ::getppid(), 0) == 0 ? 0 : errno; }) == EPERM);
  CHECK(when_confined([] { return ::syscall(SYS_tgkill, ::getpid(), ::getpid(), 0) == 0 ? 0 : errno; }) == 0);
  CHECK(when_confined([] {
          int seen = 0;
          std::thread([&] { seen = 7; }).join();
          return seen;
        }) == 7);
#if !defined(__SANITIZE_ADDRESS__)
  CHECK(when_confined([] {
          const pid_t child = ::fork();
          if (child == 0) ::_exit(0);
          return child > 0 ? 0 : errno;
        }) == EPERM);
#endif
  CHECK(::socket(AF_UNIX, SOCK_STREAM, 0) >= 0);  // the test's own process is not confined
}
