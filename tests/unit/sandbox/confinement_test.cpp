// SPDX-License-Identifier: GPL-3.0-or-later
#include "sandbox/confinement.hpp"

#include <fcntl.h>
#include <linux/fs.h>
#include <sched.h>
#include <sys/ioctl.h>
#include <sys/mman.h>
#include <sys/resource.h>
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

#include "storage/descriptor.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::sandbox;
using namespace evenwall::internal::storage;

namespace {

constexpr int kThrown = 255;
constexpr int kUnconfined = 254;

/// Returns the result of `attempt` in a confined child process; kThrown if it throws, kUnconfined if the kernel refuses the filter.
int when_confined(const std::function<int()>& attempt) {
  const pid_t child = ::fork();
  if (child == 0) {
    int result = kThrown;
    try {
      result = confine() ? attempt() : kUnconfined;
    } catch (...) {
    }
    ::_exit(result);
  }
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  REQUIRE(WIFEXITED(status));
  return WEXITSTATUS(status);
}

int errno_of(long result) { return result >= 0 ? 0 : errno; }
int create(const std::string& path) { return errno_of(::open(path.c_str(), O_WRONLY | O_CREAT, 0600)); }
int change(const std::string& path) { return errno_of(::open(path.c_str(), O_WRONLY)); }

}  // namespace

// Landlock alone would return EACCES. EPERM shows that the filter of system calls refuses by itself, also on kernels without Landlock.
TEST_CASE("A confined process can read files, but it cannot make, change or remove one") {
  const TempFolder folder;
  folder.write("there", "as it was");
  const std::string place = folder.path().string();
  const std::string there = place + "/there";
  CHECK(when_confined([&] { return create(place + "/new"); }) == EPERM);
  CHECK(when_confined([&] { return change(there); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::open(there.c_str(), O_RDONLY | O_TRUNC)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::open(place.c_str(), O_RDWR | O_TMPFILE, 0600)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::unlink(there.c_str())); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::truncate(there.c_str(), 0)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::rename(there.c_str(), (place + "/new").c_str())); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::mkdir((place + "/new").c_str(), 0700)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::symlink("there", (place + "/new").c_str())); }) == EPERM);
  CHECK(when_confined([&] {
          int result = 0;
          std::thread([&] { result = create(place + "/new"); }).join();
          return result;
        }) == EPERM);  // also in threads that start later
  CHECK(when_confined([&] { return errno_of(::open(there.c_str(), O_RDONLY | O_CLOEXEC)); }) == 0);
  CHECK(folder.entries() == 1);
  CHECK(folder.read("there") == "as it was");
}

TEST_CASE("A confined process cannot truncate an open file, change the flags of its descriptor, or make it send signals") {
  const TempFolder folder;
  folder.write("there", "as it was");
  const int file = ::open((folder.path() / "there").c_str(), O_RDWR);
  CHECK(when_confined([&] { return errno_of(::ftruncate(file, 0)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::fallocate(file, 0, 0, 4096)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::fcntl(file, F_SETOWN, ::getppid())); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::fcntl(file, F_SETSIG, SIGUSR1)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::fcntl(file, F_SETFL, O_ASYNC)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::fcntl(file, F_GETFL)); }) == 0);
  int flags = 0;
  CHECK(when_confined([&] { return errno_of(::ioctl(file, FS_IOC_GETFLAGS, &flags)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::ioctl(file, FS_IOC_SETFLAGS, &flags)); }) == EPERM);
  CHECK(folder.read("there") == "as it was");
  ::close(file);
}

TEST_CASE("A confined process cannot change the limits, the priority or the processors of another process") {
  const rlimit none{0, 0};
  rlimit found{};
  cpu_set_t first;
  CPU_ZERO(&first);
  CPU_SET(0, &first);
  CHECK(when_confined([&] { return errno_of(::prlimit(::getppid(), RLIMIT_CORE, nullptr, &found)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::prlimit(::getppid(), RLIMIT_CORE, &none, nullptr)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::prlimit(0, RLIMIT_CORE, &none, nullptr)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::getrlimit(RLIMIT_STACK, &found)); }) == 0);
  CHECK(when_confined([] { return errno_of(::setpriority(PRIO_PROCESS, static_cast<id_t>(::getppid()), 19)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::sched_setaffinity(::getppid(), sizeof first, &first)); }) == EPERM);
}

TEST_CASE("New and unknown system calls fail with ENOSYS, and a confined process cannot make memory executable") {
  CHECK(when_confined([] { return errno_of(::syscall(SYS_openat2, AT_FDCWD, "/", nullptr, 0)); }) == ENOSYS);
  CHECK(when_confined([] { return errno_of(::syscall(470)); }) == ENOSYS);
  CHECK(when_confined([] { return errno_of(::mprotect(::sbrk(0), 0, PROT_READ | PROT_EXEC)); }) == EPERM);
  CHECK(when_confined([] {
          void* page = ::mmap(nullptr, 4096, PROT_READ | PROT_EXEC, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
          return page == MAP_FAILED ? errno : 0;
        }) == EPERM);
}

TEST_CASE("A confined process cannot change the mode, owner, times or attributes of a file, by path or by descriptor") {
  const TempFolder folder;
  folder.write("there", "as it was");
  const std::string path = (folder.path() / "there").string();
  const int file = ::open(path.c_str(), O_RDWR);
  CHECK(when_confined([&] { return errno_of(::chmod(path.c_str(), 0777)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::fchmod(file, 0777)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::chown(path.c_str(), 1, 1)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::futimens(file, nullptr)); }) == EPERM);
  CHECK(when_confined([&] { return errno_of(::setxattr(path.c_str(), "user.a", "b", 1, 0)); }) == EPERM);
  ::close(file);
}

TEST_CASE("A confined process can write to open descriptors, and can copy as many streams as were prepared") {
  const TempFolder folder;
  folder.write("old", "as it was");
  const int open = ::open((folder.path() / "old").c_str(), O_WRONLY | O_TRUNC);
  CHECK(when_confined([&] { return ::write(open, "by descriptor", 13) == 13 ? 0 : errno; }) == 0);
  ::close(open);
  CHECK(folder.read("old") == "by descriptor");
  prepare_spools(1);
  const auto spooled = [](int stream) {
    char copy[4] = {};
    return ::pread(spool(stream, "stream").get(), copy, 4, 0) == 3 && std::string(copy) == "abc" ? 0 : 3;
  };
  const auto stream = [] {
    int ends[2];
    REQUIRE(::pipe(ends) == 0);
    REQUIRE(::write(ends[1], "abc", 3) == 3);
    ::close(ends[1]);
    return Descriptor(ends[0]);
  };
  const Descriptor first = stream(), second = stream(), third = stream();
  CHECK(when_confined([&] { return spooled(first.get()); }) == 0);  // the child process uses the prepared spool
  static_cast<void>(spooled(second.get()));                         // so does this process, which has it too
  CHECK(when_confined([&] { return spooled(third.get()); }) == kThrown);
}

TEST_CASE("A confined process can start threads and abort itself, but cannot open a socket, run a program or fork") {
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
