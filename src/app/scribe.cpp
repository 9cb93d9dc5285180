#include "app/scribe.hpp"

#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <exception>
#include <thread>

#include "app/interruption.hpp"
#include "app/options.hpp"
#include "evenwall/error.hpp"
#include "files/descriptor.hpp"

namespace evenwall::app {
namespace {

constexpr int kSignalled = 128;                      // the shell's convention: 128 + signal
constexpr std::uint64_t kLongest_bytes = 1U << 30U;  // of one document: a worker that has been taken over shall not fill the memory
constexpr std::chrono::milliseconds kEndingTogether{200};
constexpr const char* kOther = "the other half of this program";

enum class Deed : std::uint8_t { kCheckWhole, kCheckAppend, kWriteWhole, kAppendLine };
enum class Fate : std::uint8_t { kDone, kInput, kData, kInternal, kLineThere };

/// What goes to and fro: a Deed with its text, a Fate with its complaint.
struct Parcel {
  std::uint8_t what = 0;
  std::string text;
};

Descriptor connection;  // of the worker to the process that writes

/// A process that a signal ends closes the connection a moment before this one is ended with it: then there is nothing to report.
[[noreturn]] void refuse_lost(const std::string& found) {
  std::this_thread::sleep_for(kEndingTogether);
  refuse(kOther, found);
}

// Not by read and write: a fault of theirs is one of files.
void send_bytes(int to, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t n = ::send(to, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) refuse_lost("cannot be told: " + errno_text(errno));
    bytes.remove_prefix(static_cast<std::size_t>(n));
  }
}

void send(int to, std::uint8_t what, std::string_view text) {
  std::array<char, 1 + sizeof(std::uint64_t)> head{static_cast<char>(what)};
  for (std::size_t i = 1; i < head.size(); ++i) head[i] = static_cast<char>(text.size() >> (8 * (i - 1)));
  send_bytes(to, {head.data(), head.size()});
  send_bytes(to, text);
}

/// Whether all of it came.
bool receive_bytes(int from, char* out, std::size_t count) {
  for (std::size_t done = 0; done < count;) {
    const ssize_t n = ::recv(from, out + done, count - done, 0);
    if (n == 0) return false;
    if (n < 0 && errno != EINTR) refuse_lost("cannot be heard: " + errno_text(errno));
    if (n > 0) done += static_cast<std::size_t>(n);
  }
  return true;
}

/// Nothing where the other has ended, in the middle of a parcel too.
std::optional<Parcel> receive(int from) {
  std::array<char, 1 + sizeof(std::uint64_t)> head{};
  if (!receive_bytes(from, head.data(), head.size())) return std::nullopt;
  std::uint64_t size = 0;
  for (std::size_t i = head.size() - 1; i > 0; --i) size = size << 8U | static_cast<unsigned char>(head[i]);
  if (size > kLongest_bytes) refuse(kOther, "wants to write more than 1 GiB at once; give it fewer captures at a time");
  Parcel parcel{static_cast<std::uint8_t>(head[0]), std::string(size, '\0')};
  if (!receive_bytes(from, parcel.text.data(), parcel.text.size())) return std::nullopt;
  return parcel;
}

const std::string& named(const std::optional<std::string>& path) {
  if (!path) throw Error(ErrorKind::kInternal, "a target that the command line does not name; report this");
  return *path;
}

Fate perform(const Parcel& asked, const Leave& leave) {
  switch (static_cast<Deed>(asked.what)) {
    case Deed::kCheckWhole:
      check_writable(named(leave.output), WriteKind::kWhole);
      return Fate::kDone;
    case Deed::kCheckAppend:
      check_writable(named(leave.appended), WriteKind::kAppend);
      return Fate::kDone;
    case Deed::kWriteWhole:
      write_whole(named(leave.output), asked.text);
      return Fate::kDone;
    case Deed::kAppendLine:
      return append_line_once(named(leave.appended), asked.text) ? Fate::kDone : Fate::kLineThere;
  }
  throw Error(ErrorKind::kInternal, "a deed that is none; report this");
}

Fate fate_of(ErrorKind kind) {
  if (kind == ErrorKind::kInput) return Fate::kInput;
  return kind == ErrorKind::kData ? Fate::kData : Fate::kInternal;
}

void serve(int worker_end, const Leave& leave) {
  while (const auto asked = receive(worker_end)) {
    try {
      send(worker_end, static_cast<std::uint8_t>(perform(*asked, leave)), "");
    } catch (const Error& error) {
      send(worker_end, static_cast<std::uint8_t>(fate_of(error.kind())), error.what());
    }
  }
}

/// The worker's exit status; where a signal ended it, so it ends this process.
int status_of(pid_t worker) {
  int status = 0;
  while (::waitpid(worker, &status, 0) < 0) {
    if (errno != EINTR) refuse(kOther, "cannot be waited for: " + errno_text(errno));
  }
  if (WIFEXITED(status)) return WEXITSTATUS(status);
  const int signal = WTERMSIG(status);
  if (signal == SIGINT || signal == SIGTERM || signal == SIGHUP) return kSignalled + signal;
  std::signal(signal, SIG_DFL);
  ::raise(signal);
  return kExitNoAnswer;
}

/// Whatever goes wrong on the way ends the connection: a worker that still lives finds it closed, and says so.
int attend(Descriptor worker_end, pid_t worker, const Leave& leave) {
  watch_for_interruption();
  try {
    serve(worker_end.get(), leave);
  } catch (const std::exception&) {
  }
  ::shutdown(worker_end.get(), SHUT_RDWR);
  return status_of(worker);
}

Fate ask(Deed deed, std::string_view text) {
  send(connection.get(), static_cast<std::uint8_t>(deed), text);
  const auto told = receive(connection.get());
  if (!told) refuse_lost("has ended; close other programs, and try again");
  if (static_cast<Fate>(told->what) == Fate::kInput) throw Error(ErrorKind::kInput, told->text);
  if (static_cast<Fate>(told->what) == Fate::kData) throw Error(ErrorKind::kData, told->text);
  if (static_cast<Fate>(told->what) == Fate::kInternal) throw Error(ErrorKind::kInternal, told->text);
  return static_cast<Fate>(told->what);
}

}  // namespace

std::optional<int> split_off_work(const Leave& leave) {
  if (!leave.output && !leave.appended) return std::nullopt;
  std::array<int, 2> ends{};
  if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends.data()) != 0) {
    refuse("no way to a second process", errno_text(errno));
  }
  Descriptor worker_end(ends[0]);
  Descriptor own_end(ends[1]);
  const pid_t parent = ::getpid();
  const pid_t worker = ::fork();
  if (worker < 0) refuse("no second process", errno_text(errno));
  if (worker > 0) {
    if (const int error_number = own_end.close()) {  // held open, it would hide the worker's end
      ::kill(worker, SIGKILL);
      refuse("no way to a second process", errno_text(error_number));
    }
    return attend(std::move(worker_end), worker, leave);
  }
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (::getppid() != parent) ::_exit(kExitNoAnswer);  // it went before it could be watched
  connection = std::move(own_end);
  return std::nullopt;
}

bool is_split_off() { return connection.get() >= 0; }

void check_target(const std::string& path, WriteKind kind) {
  if (!is_split_off()) return check_writable(path, kind);
  ask(kind == WriteKind::kWhole ? Deed::kCheckWhole : Deed::kCheckAppend, "");
}

void put_whole(const std::string& path, std::string_view text) {
  if (!is_split_off()) return write_whole(path, text);
  ask(Deed::kWriteWhole, text);
}

bool put_line(const std::string& path, std::string_view line) {
  if (!is_split_off()) return append_line_once(path, line);
  return ask(Deed::kAppendLine, line) == Fate::kDone;
}

}  // namespace evenwall::app
