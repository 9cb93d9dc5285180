// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/descriptor.hpp"

#include <fcntl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cstdlib>
#include <thread>

#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::storage;

namespace {

std::string refused(const std::filesystem::path& path) {
  return refusal_of([&] { open_input(path); });
}
bool is_open(int number) { return ::fcntl(number, F_GETFD) != -1; }

/// While it exists, the superuser acts as the user nobody: the superuser may read everything.
class Unprivileged {
 public:
  Unprivileged() : before_(::geteuid()) {
    constexpr uid_t kNobody = 65534;
    if (before_ == 0) REQUIRE(::seteuid(kNobody) == 0);
  }
  Unprivileged(const Unprivileged&) = delete;
  Unprivileged& operator=(const Unprivileged&) = delete;
  ~Unprivileged() { static_cast<void>(::seteuid(before_) == 0); }

 private:
  uid_t before_;
};

class TemporaryFiles {
 public:
  explicit TemporaryFiles(const std::filesystem::path& folder) {
    if (const char* set = std::getenv("TMPDIR")) before_ = set;
    ::setenv("TMPDIR", folder.c_str(), 1);
  }
  TemporaryFiles(const TemporaryFiles&) = delete;
  TemporaryFiles& operator=(const TemporaryFiles&) = delete;
  ~TemporaryFiles() { before_.empty() ? ::unsetenv("TMPDIR") : ::setenv("TMPDIR", before_.c_str(), 1); }

 private:
  std::string before_;
};

}  // namespace

TEST_CASE("A descriptor is closed once, by the last object that it was moved to") {
  const int number = ::open("/dev/null", O_RDONLY);
  {
    Descriptor first(number);
    Descriptor second(std::move(first));
    CHECK(first.get() == -1);
    Descriptor third;
    third = std::move(second);
    CHECK(third.get() == number);
    CHECK(is_open(number));
  }
  CHECK_FALSE(is_open(number));
  Descriptor closed(::open("/dev/null", O_RDONLY));
  CHECK(closed.close() == 0);
  CHECK(closed.close() == 0);
  Descriptor wrong(number);  // closed above
  CHECK(wrong.close() == EBADF);
}

TEST_CASE("A path that is not a file is refused with the message of the system and an escaped name") {
  const TempFolder folder;
  CHECK(holds(refused(folder.path()), "this is a folder"));
  CHECK(holds(refused("/dev/zero"), "this is a device"));
  CHECK(holds(refused(folder / "no\nsuch\x1b.wav"), "no\\x0Asuch\\x1B.wav: the file cannot be opened: No such file"));
  std::filesystem::create_symlink("loop", folder / "loop");
  CHECK(holds(refused(folder / "loop"), "symbolic links"));
  CHECK(holds(refused(folder / std::string(300, 'x')), "too long"));
  int sockets[2];
  REQUIRE(::socketpair(AF_UNIX, SOCK_STREAM, 0, sockets) == 0);
  CHECK(holds(refused("/proc/self/fd/" + std::to_string(sockets[0])), "this is a socket"));
  ::close(sockets[0]);
  ::close(sockets[1]);
}

TEST_CASE("A file without read permission is refused, and the message states that") {
  const TempFolder folder;
  std::filesystem::permissions(folder.path(), std::filesystem::perms{0755});
  const auto path = folder.write("se\ncret.wav", "x");
  std::filesystem::permissions(path, std::filesystem::perms{0});
  const Unprivileged now;
  CHECK(holds(refused(path), "se\\x0Acret.wav: the file cannot be opened: Permission denied"));
}

TEST_CASE("Files and FIFOs are opened; only files can be read by position") {
  const TempFolder folder;
  const Descriptor file = open_input(folder.write("a", "abc"));
  CHECK(is_regular(file.get()));
  char bytes[8];
  CHECK(read_some(file.get(), bytes, 2, "a") == 2);
  CHECK(read_some(file.get(), bytes, 8, "a") == 1);
  CHECK(bytes[0] == 'c');
  CHECK(read_some(file.get(), bytes, 8, "a") == 0);
  REQUIRE(::mkfifo((folder / "fifo").c_str(), 0600) == 0);
  const Descriptor writer(::open((folder / "fifo").c_str(), O_RDWR));  // with a writer, opening the FIFO to read does not wait
  const Descriptor fifo = open_input(folder / "fifo");
  CHECK_FALSE(is_regular(fifo.get()));
  CHECK_FALSE(is_regular(-1));
}

TEST_CASE("A failed read or write is reported with the name of the file") {
  char byte = 0;
  CHECK(refusal_of([&] { read_some(-1, &byte, 1, "x.wav"); }) == "x.wav: the input cannot be read: Bad file descriptor. Try again.");
  const Descriptor full(::open("/dev/full", O_WRONLY));
  CHECK(refusal_of([&] { write_all(full.get(), "x", "x.wav"); }) ==
        "x.wav: the file cannot be written: No space left on device. Make room, or choose another place.");
}

TEST_CASE("A stream is spooled whole into a file that no folder lists") {
  const TempFolder folder;
  const TemporaryFiles here(folder.path());
  std::string sent;
  for (int i = 0; i < 40000; ++i) sent += std::to_string(i);  // more than a pipe holds
  int ends[2];
  REQUIRE(::pipe(ends) == 0);
  std::thread writer([&] {
    write_all(ends[1], sent, "pipe");
    ::close(ends[1]);
  });
  const Descriptor copy = spool(ends[0], "stream");
  writer.join();
  ::close(ends[0]);
  CHECK(folder.entries() == 0);
  REQUIRE(is_regular(copy.get()));
  std::string got(sent.size() + 1, '\0');
  REQUIRE(::pread(copy.get(), got.data(), got.size(), 0) == static_cast<ssize_t>(sent.size()));
  got.pop_back();
  CHECK(got == sent);
}

TEST_CASE("If TMPDIR does not name a folder, the message states that") {
  const TempFolder folder;
  const TemporaryFiles nowhere(folder / "gone");
  CHECK(holds(refusal_of([] { spool(-1, "stream"); }), "TMPDIR: this variable names no folder"));
}
