#include "app/console.hpp"

#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>

#include "base/text.hpp"
#include "evenwall/error.hpp"

namespace evenwall::app {
namespace {

/// 0, or the errno of the write that failed.
int write_all(int descriptor, std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = ::write(descriptor, text.data(), text.size());
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) return errno;
    text.remove_prefix(static_cast<std::size_t>(written));
  }
  return 0;
}

bool wants_colour() {
  const char* no_colour = std::getenv("NO_COLOR");
  const char* terminal = std::getenv("TERM");
  if (no_colour != nullptr && *no_colour != '\0') return false;
  return ::isatty(STDOUT_FILENO) == 1 && terminal != nullptr && std::strcmp(terminal, "dumb") != 0;
}

}  // namespace

Console::Console(Chatter chatter)
    : chatter_(chatter), colour_(wants_colour()), shows_progress_(chatter == Chatter::kNormal && ::isatty(STDERR_FILENO) == 1) {}

Console::~Console() { clear_progress(); }

void Console::out(std::string_view text) {
  clear_progress();
  if (reader_gone_) return;
  const int fault = write_all(STDOUT_FILENO, text);
  if (fault == EPIPE) {
    reader_gone_ = true;
  } else if (fault != 0) {
    throw Error(ErrorKind::kInput, std::string("standard output: ") + std::strerror(fault) + "; send it elsewhere, or use -o FILE");
  }
}

void Console::complain(std::string_view message) {
  clear_progress();
  const std::string line = "evenwall: " + escaped(message) + "\n";
  if (told_.insert(line).second) write_all(STDERR_FILENO, line);
}

void Console::aside(std::string_view text) {
  clear_progress();
  write_all(STDERR_FILENO, text);
}

void Console::warn(std::string_view message) {
  if (chatter_ == Chatter::kNormal) complain(message);
}

void Console::progress(std::string_view state) {
  if (!shows_progress_) return;
  clear_progress();
  write_all(STDERR_FILENO, state);
  progress_shown_ = true;
}

void Console::clear_progress() {
  if (progress_shown_) write_all(STDERR_FILENO, "\r\x1b[K");
  progress_shown_ = false;
}

}  // namespace evenwall::app
