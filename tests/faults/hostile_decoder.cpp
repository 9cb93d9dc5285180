// SPDX-License-Identifier: GPL-3.0-or-later
// Simulates, by LD_PRELOAD, a decoder that has been taken over. Before it opens a capture it tries the attacks of an intruder, in the
// folder that HOSTILE_FOLDER names and on the process that HOSTILE_VICTIM names, and reports the results on standard error:
// "hostile: create=0 mode=1 …" (0: done, otherwise errno).
#include <arpa/inet.h>
#include <dlfcn.h>
#include <fcntl.h>
#include <linux/fs.h>
#include <mqueue.h>
#include <netinet/in.h>
#include <sched.h>
#include <signal.h>
#include <sndfile.h>
#include <spawn.h>
#include <sys/ioctl.h>
#include <sys/ipc.h>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/shm.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <string>

namespace {

struct Target {
  std::string folder, there;
  pid_t victim = 0;
};

int ends[2] = {-1, -1};  // a pipe that is open before the attack, as an intruder may inherit one

[[gnu::constructor]] void open_pipe() {
  if (std::getenv("HOSTILE_FOLDER") != nullptr && ::pipe2(ends, O_NONBLOCK | O_CLOEXEC) != 0) ::abort();
}

int error_of(long result) { return result >= 0 ? 0 : errno; }

int open_and_close(const std::string& path, int flags) {
  const int file = ::open(path.c_str(), flags, 0600);
  const int fault = error_of(file);
  if (file >= 0) ::close(file);
  return fault;
}

int run_program(const Target& at) {
  std::string path = at.folder + "/touched";
  std::string program = "touch";
  char* words[] = {program.data(), path.data(), nullptr};
  pid_t child = 0;
  const int fault = ::posix_spawn(&child, "/usr/bin/touch", nullptr, nullptr, words, nullptr);
  if (fault != 0) return fault;
  int status = 0;
  ::waitpid(child, &status, 0);
  return WEXITSTATUS(status);
}

int begin_process(const Target&) {
  const pid_t child = ::fork();
  if (child == 0) ::_exit(0);
  if (child > 0) ::waitpid(child, nullptr, 0);
  return error_of(child);
}

/// When the pipe is ready, the kernel sends a signal to the process that owns the pipe.
int own_pipe(const Target& at) { return error_of(::fcntl(ends[0], F_SETOWN, at.victim)); }
int choose_signal(const Target&) { return error_of(::fcntl(ends[0], F_SETSIG, SIGKILL)); }
int send_readiness(const Target&) {
  const int fault = error_of(::fcntl(ends[0], F_SETFL, O_ASYNC | O_NONBLOCK));
  static_cast<void>(::write(ends[1], "x", 1) == 1);
  return fault;
}

int set_limit(const Target& at) {
  const rlimit none{0, 0};
  return error_of(::prlimit(at.victim, RLIMIT_CORE, &none, nullptr));
}

int set_own_limit(const Target&) {
  const rlimit none{0, 0};
  return error_of(::prlimit(0, RLIMIT_CORE, &none, nullptr));
}

int set_affinity(const Target& at) {
  cpu_set_t first;
  CPU_ZERO(&first);
  CPU_SET(0, &first);
  return error_of(::sched_setaffinity(at.victim, sizeof first, &first));
}

/// Uses a descriptor that is open for reading only.
int set_flags(const Target& at) {
  const int file = ::open(at.there.c_str(), O_RDONLY);
  int flags = 0;
  if (::ioctl(file, FS_IOC_GETFLAGS, &flags) != 0 && errno == EPERM) return EPERM;
  flags |= FS_NODUMP_FL;
  const int fault = error_of(::ioctl(file, FS_IOC_SETFLAGS, &flags));
  ::close(file);
  return fault;
}

int console_paste(const Target&) {
  char paste = 3;
  return error_of(::ioctl(STDIN_FILENO, TIOCLINUX, &paste));
}

int type_character(const Target&) { return error_of(::ioctl(STDIN_FILENO, TIOCSTI, "x")); }

int make_code(const Target&) {
  void* page = ::mmap(nullptr, 4096, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
  return error_of(::mprotect(page, 4096, PROT_READ | PROT_EXEC));
}

int open_queue(const Target&) {
  const std::string name = "/hostile-" + std::to_string(::getpid());
  const mqd_t queue = ::mq_open(name.c_str(), O_RDWR | O_CREAT, 0600, nullptr);
  if (queue == static_cast<mqd_t>(-1)) return errno;
  ::mq_unlink(name.c_str());
  return 0;
}

int open_by_structure(const Target& at) {
  const unsigned long long how[3] = {O_WRONLY | O_TRUNC, 0, 0};
  return error_of(::syscall(SYS_openat2, AT_FDCWD, at.there.c_str(), how, sizeof how));
}

int make_folder(const Target& at) { return error_of(::mkdir((at.folder + "/folder").c_str(), 0700)); }
int temporary(const Target&) {
  const char* place = std::getenv("TMPDIR");
  return open_and_close(place != nullptr ? place : "/tmp", O_TMPFILE | O_RDWR);
}

struct Attempt {
  const char* name;
  int (*make)(const Target&);
};

/// Among the attempts on `there`, those that change it come first and the one that removes it comes last.
constexpr Attempt kAttempts[] = {
    {"create", [](const Target& at) { return open_and_close(at.folder + "/created", O_WRONLY | O_CREAT); }},
    {"mode", [](const Target& at) { return error_of(::chmod(at.there.c_str(), 0777)); }},
    {"flags", set_flags},
    {"structure", open_by_structure},
    {"emptied", [](const Target& at) { return open_and_close(at.there, O_RDONLY | O_TRUNC); }},
    {"truncate", [](const Target& at) { return error_of(::truncate(at.there.c_str(), 3)); }},
    {"change", [](const Target& at) { return open_and_close(at.there, O_WRONLY | O_TRUNC); }},
    {"rename", [](const Target& at) { return error_of(::rename(at.there.c_str(), (at.folder + "/renamed").c_str())); }},
    {"restore", [](const Target& at) { return error_of(::rename((at.folder + "/renamed").c_str(), at.there.c_str())); }},
    {"remove", [](const Target& at) { return error_of(::unlink(at.there.c_str())); }},
    {"folder", make_folder},
    {"link", [](const Target& at) { return error_of(::symlink("there", (at.folder + "/linked").c_str())); }},
    {"temporary", temporary},
    {"tcp", [](const Target&) { return error_of(::socket(AF_INET, SOCK_STREAM, 0)); }},
    {"udp", [](const Target&) { return error_of(::socket(AF_INET, SOCK_DGRAM, 0)); }},
    {"local", [](const Target&) { return error_of(::socket(AF_UNIX, SOCK_STREAM, 0)); }},
    {"memory", [](const Target&) { return error_of(::shmget(IPC_PRIVATE, 1, 0600)); }},
    {"queue", open_queue},
    {"limit", set_limit},
    {"own_limit", set_own_limit},
    {"priority", [](const Target& at) { return error_of(::setpriority(PRIO_PROCESS, static_cast<id_t>(at.victim), 19)); }},
    {"affinity", set_affinity},
    {"console", console_paste},
    {"typing", type_character},
    {"code", make_code},
    {"process", begin_process},
    {"run", run_program},
    {"signal", [](const Target& at) { return error_of(::kill(at.victim, 0)); }},
    {"owner", own_pipe},
    {"which_signal", choose_signal},
    {"readiness", send_readiness},
};

void attack() {
  const char* folder = std::getenv("HOSTILE_FOLDER");
  const char* victim = std::getenv("HOSTILE_VICTIM");
  if (folder == nullptr || victim == nullptr) return;
  const Target at{folder, std::string(folder) + "/there", std::atoi(victim)};
  std::string report = "hostile:";
  for (const Attempt& attempt : kAttempts) report += std::string(" ") + attempt.name + "=" + std::to_string(attempt.make(at));
  std::fprintf(stderr, "%s\n", report.c_str());
}

}  // namespace

extern "C" SNDFILE* sf_open_virtual(SF_VIRTUAL_IO* io, int mode, SF_INFO* info, void* data) {
  attack();
  return reinterpret_cast<decltype(&sf_open_virtual)>(::dlsym(RTLD_NEXT, "sf_open_virtual"))(io, mode, info, data);
}

extern "C" SNDFILE* sf_open_fd(int descriptor, int mode, SF_INFO* info, int close) {
  attack();
  return reinterpret_cast<decltype(&sf_open_fd)>(::dlsym(RTLD_NEXT, "sf_open_fd"))(descriptor, mode, info, close);
}
