// LD_PRELOAD: a decoder that has been taken over. Before it opens a capture it tries what an intruder would, in the folder that
// HOSTILE_FOLDER names, and tells on standard error what came of it: "hostile: create=0 mode=1 …" (0: done, else errno).
#include <arpa/inet.h>
#include <dlfcn.h>
#include <fcntl.h>
#include <netinet/in.h>
#include <signal.h>
#include <sndfile.h>
#include <spawn.h>
#include <sys/ipc.h>
#include <sys/shm.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/un.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <string>

namespace {

int error_of(int result) { return result >= 0 ? 0 : errno; }

int run(const std::string& folder) {
  std::string path = folder + "/touched";
  std::string program = "touch";
  char* words[] = {program.data(), path.data(), nullptr};
  pid_t child = 0;
  const int fault = ::posix_spawn(&child, "/usr/bin/touch", nullptr, nullptr, words, nullptr);
  if (fault != 0) return fault;
  int status = 0;
  ::waitpid(child, &status, 0);
  return WEXITSTATUS(status);
}

int begin_process() {
  const pid_t child = ::fork();
  if (child == 0) ::_exit(0);
  if (child > 0) ::waitpid(child, nullptr, 0);
  return error_of(child);
}

void attack() {
  const char* named = std::getenv("HOSTILE_FOLDER");
  if (named == nullptr) return;
  const std::string folder(named);
  const int create = error_of(::open((folder + "/created").c_str(), O_WRONLY | O_CREAT, 0600));
  const int mode = error_of(::chmod((folder + "/there").c_str(), 0777));
  const int change = error_of(::open((folder + "/there").c_str(), O_WRONLY | O_TRUNC));
  const int remove = error_of(::unlink((folder + "/there").c_str()));
  const int link = error_of(::symlink("there", (folder + "/linked").c_str()));
  const char* place = std::getenv("TMPDIR");
  const int temporary = error_of(::open(place != nullptr ? place : "/tmp", O_TMPFILE | O_RDWR, 0600));
  const int tcp = error_of(::socket(AF_INET, SOCK_STREAM, 0));
  const int udp = error_of(::socket(AF_INET, SOCK_DGRAM, 0));
  const int local = error_of(::socket(AF_UNIX, SOCK_STREAM, 0));
  const int signal = error_of(::kill(::getppid(), 0));
  const int memory = error_of(::shmget(IPC_PRIVATE, 1, 0600));
  std::fprintf(stderr,
               "hostile: create=%d mode=%d change=%d remove=%d link=%d temporary=%d tcp=%d udp=%d local=%d signal=%d memory=%d process=%d "
               "run=%d\n",
               create, mode, change, remove, link, temporary, tcp, udp, local, signal, memory, begin_process(), run(folder));
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
