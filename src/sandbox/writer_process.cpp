// SPDX-License-Identifier: GPL-3.0-or-later
#include "sandbox/writer_process.hpp"

#include <sys/prctl.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <exception>
#include <mutex>
#include <thread>
#include <utility>

#include "evenwall/error.hpp"
#include "sandbox/interruption.hpp"
#include "storage/descriptor.hpp"
#include "storage/grown_file.hpp"
#include "storage/whole_file.hpp"

namespace evenwall::internal::sandbox {
namespace {

constexpr std::uint64_t kLongest_bytes = 1U << 30U;  // of one document; a compromised worker must not fill the memory
constexpr std::chrono::milliseconds kEndingTogether{200};
constexpr const char* kOther = "the other process of this program";

enum class Request : std::uint8_t { kCheckWhole, kCheckAppend, kWriteWhole, kAppendLine, kCommitKept, kGrowLog };
enum class Outcome : std::uint8_t { kDone, kInput, kData, kInternal, kLineThere, kChanged };

/// A message between the two processes: a Request with its text, or an Outcome with its error message.
struct Message {
  std::uint8_t what = 0;
  std::string text;
};

constexpr std::string_view kNoFile = "none";  // in the place of a stamp

// The worker never destroys its copy of this object, because that could remove the file of the other process.
storage::WholeFile* kept = nullptr;
storage::Descriptor connection;  // from the worker to the process that writes

/// If a signal ends the other process, the connection closes a moment before this process is ended too. The pause allows for that: then
/// nothing is reported.
[[noreturn]] void refuse_lost(const std::string& found) {
  std::this_thread::sleep_for(kEndingTogether);
  storage::refuse(kOther, found);
}

// Uses send and recv, because a fault of read or write is treated as a fault of a file.
void send_bytes(int to, std::string_view bytes) {
  while (!bytes.empty()) {
    const ssize_t n = ::send(to, bytes.data(), bytes.size(), MSG_NOSIGNAL);
    if (n < 0 && errno == EINTR) continue;
    if (n < 0) refuse_lost("no message can be sent to it: " + storage::errno_text(errno));
    bytes.remove_prefix(static_cast<std::size_t>(n));
  }
}

void send(int to, std::uint8_t what, std::string_view text) {
  std::array<char, 1 + sizeof(std::uint64_t)> head{static_cast<char>(what)};
  for (std::size_t i = 1; i < head.size(); ++i) head[i] = static_cast<char>(text.size() >> (8 * (i - 1)));
  send_bytes(to, {head.data(), head.size()});
  send_bytes(to, text);
}

/// Returns whether all bytes arrived.
bool receive_bytes(int from, char* out, std::size_t count) {
  for (std::size_t done = 0; done < count;) {
    const ssize_t n = ::recv(from, out + done, count - done, 0);
    if (n == 0) return false;
    if (n < 0 && errno != EINTR) refuse_lost("no message can be received from it: " + storage::errno_text(errno));
    if (n > 0) done += static_cast<std::size_t>(n);
  }
  return true;
}

/// Returns nothing if the other process has ended, also in the middle of a message.
std::optional<Message> receive(int from) {
  std::array<char, 1 + sizeof(std::uint64_t)> head{};
  if (!receive_bytes(from, head.data(), head.size())) return std::nullopt;
  std::uint64_t size = 0;
  for (std::size_t i = head.size() - 1; i > 0; --i) size = size << 8U | static_cast<unsigned char>(head[i]);
  if (size > kLongest_bytes)
    storage::refuse(kOther, "it asks to write more than 1 GiB at once. Nothing is written. Give fewer recordings at a time.");
  Message message{static_cast<std::uint8_t>(head[0]), std::string(size, '\0')};
  if (!receive_bytes(from, message.text.data(), message.text.size())) return std::nullopt;
  return message;
}

const std::string& named(const std::optional<std::string>& path) {
  if (!path) throw Error(ErrorKind::kInternal, "the command line does not name this target. Please report this.");
  return *path;
}

[[noreturn]] void refuse_existing(const std::string& path) {
  storage::refuse(storage::shown(path), "this file exists already, and it is not replaced. The audio was not kept. Name another file.");
}

/// A file that is still without a name. Throws: Error(kInput) if anything has the name already.
storage::WholeFile* begun(const std::string& path) {
  struct stat status {};
  if (::lstat(path.c_str(), &status) == 0) refuse_existing(path);
  return new storage::WholeFile(path);
}

/// The text of a request: the stamp of the log as the worker has read it, a line end, and what to add. Whatever the worker sends, the log
/// can only grow.
Outcome grow_log(const std::string& log, std::string_view text) {
  const std::size_t end = text.find('\n');
  const std::string_view stamp = text.substr(0, end);
  const auto seen = storage::stamp_from(stamp);
  if (end == std::string_view::npos || (!seen && stamp != kNoFile))
    throw Error(ErrorKind::kInternal, "the state of the log cannot be read. Please report this.");
  return storage::grow(log, seen, text.substr(end + 1)) ? Outcome::kDone : Outcome::kChanged;
}

Outcome perform(const Message& asked, const WritablePaths& paths) {
  switch (static_cast<Request>(asked.what)) {
    case Request::kCheckWhole:
      check_writable(named(paths.output), WriteKind::kWhole);
      return Outcome::kDone;
    case Request::kCheckAppend:
      check_writable(named(paths.appended), WriteKind::kAppend);
      return Outcome::kDone;
    case Request::kWriteWhole:
      write_whole(named(paths.output), asked.text);
      return Outcome::kDone;
    case Request::kAppendLine:
      return append_line_once(named(paths.appended), asked.text) ? Outcome::kDone : Outcome::kLineThere;
    case Request::kCommitKept:
      if (!kept->commit_as_new()) refuse_existing(named(paths.kept));
      return Outcome::kDone;
    case Request::kGrowLog:
      return grow_log(named(paths.log), asked.text);
  }
  throw Error(ErrorKind::kInternal, "the request is unknown. Please report this.");
}

Outcome outcome_of(ErrorKind kind) {
  if (kind == ErrorKind::kInput) return Outcome::kInput;
  return kind == ErrorKind::kData ? Outcome::kData : Outcome::kInternal;
}

void serve(int worker_end, const WritablePaths& paths) {
  while (const auto asked = receive(worker_end)) {
    try {
      send(worker_end, static_cast<std::uint8_t>(perform(*asked, paths)), "");
    } catch (const Error& error) {
      send(worker_end, static_cast<std::uint8_t>(outcome_of(error.kind())), error.what());
    }
  }
}

/// Waits for the worker and returns its exit status. For SIGINT, SIGTERM or SIGHUP the status is that of an interruption; any other signal
/// that ended the worker ends this process too.
int status_of(pid_t worker) {
  int status = 0;
  while (::waitpid(worker, &status, 0) < 0) {
    if (errno != EINTR) storage::refuse(kOther, "its end cannot be awaited: " + storage::errno_text(errno));
  }
  if (WIFEXITED(status)) return WEXITSTATUS(status);
  const int signal = WTERMSIG(status);
  if (signal == SIGINT || signal == SIGTERM || signal == SIGHUP) return kSignalled + signal;
  std::signal(signal, SIG_DFL);
  ::raise(signal);
  return kNoAnswer;
}

/// Serves the worker until it ends. Any failure closes the connection; a worker that still runs then reports that it is closed.
int attend(storage::Descriptor worker_end, pid_t worker, const WritablePaths& paths) {
  watch_for_interruption();
  try {
    serve(worker_end.get(), paths);
  } catch (const std::exception&) {
  }
  ::shutdown(worker_end.get(), SHUT_RDWR);
  const int status = status_of(worker);
  delete std::exchange(kept, nullptr);  // removes the file, unless it was committed
  return status;
}

Outcome ask(Request deed, std::string_view text) {
  static std::mutex one_at_a_time;  // a stream is kept by a thread that measures
  const std::lock_guard lock(one_at_a_time);
  send(connection.get(), static_cast<std::uint8_t>(deed), text);
  const auto told = receive(connection.get());
  if (!told) refuse_lost("it has ended. Close other programs, and try again.");
  if (static_cast<Outcome>(told->what) == Outcome::kInput) throw Error(ErrorKind::kInput, told->text);
  if (static_cast<Outcome>(told->what) == Outcome::kData) throw Error(ErrorKind::kData, told->text);
  if (static_cast<Outcome>(told->what) == Outcome::kInternal) throw Error(ErrorKind::kInternal, told->text);
  return static_cast<Outcome>(told->what);
}

}  // namespace

std::optional<int> split_off_work(const WritablePaths& paths) {
  if (!paths.output && !paths.appended && !paths.kept && !paths.log) return std::nullopt;
  if (paths.kept) kept = begun(*paths.kept);
  std::array<int, 2> ends{};
  if (::socketpair(AF_UNIX, SOCK_STREAM | SOCK_CLOEXEC, 0, ends.data()) != 0) {
    storage::refuse("a second process", "no connection to it can be made: " + storage::errno_text(errno));
  }
  storage::Descriptor worker_end(ends[0]);
  storage::Descriptor own_end(ends[1]);
  const pid_t parent = ::getpid();
  const pid_t worker = ::fork();
  if (worker < 0) storage::refuse("a second process", "it cannot be started: " + storage::errno_text(errno));
  if (worker > 0) {
    if (const int error_number = own_end.close()) {  // if it stayed open, it would hide the end of the worker
      ::kill(worker, SIGKILL);
      storage::refuse("a second process", "no connection to it can be made: " + storage::errno_text(error_number));
    }
    return attend(std::move(worker_end), worker, paths);
  }
  ::prctl(PR_SET_PDEATHSIG, SIGKILL);
  if (::getppid() != parent) ::_exit(kNoAnswer);  // the parent ended before its end could be detected
  connection = std::move(own_end);
  return std::nullopt;
}

storage::Descriptor kept_file() { return storage::Descriptor(kept->descriptor()); }

void commit_kept() { ask(Request::kCommitKept, ""); }

bool is_split_off() { return connection.get() >= 0; }

void check_target(const std::string& path, WriteKind kind) {
  if (!is_split_off()) return check_writable(path, kind);
  ask(kind == WriteKind::kWhole ? Request::kCheckWhole : Request::kCheckAppend, "");
}

void put_whole(const std::string& path, std::string_view text) {
  if (!is_split_off()) return write_whole(path, text);
  ask(Request::kWriteWhole, text);
}

bool put_line(const std::string& path, std::string_view line) {
  if (!is_split_off()) return append_line_once(path, line);
  return ask(Request::kAppendLine, line) == Outcome::kDone;
}

bool grow_log(const std::string& path, const std::optional<storage::FileStamp>& seen, std::string_view added) {
  if (!is_split_off()) return storage::grow(path, seen, added);
  const std::string stamp = seen ? storage::stamp_text(*seen) : std::string(kNoFile);
  return ask(Request::kGrowLog, stamp + "\n" + std::string(added)) == Outcome::kDone;
}

}  // namespace evenwall::internal::sandbox
