// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/console.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <cerrno>
#include <cstdlib>
#include <cstring>

#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/words.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::app {
namespace {

bool wants_colour() {
  const char* no_colour = std::getenv("NO_COLOR");
  const char* terminal = std::getenv("TERM");
  if (no_colour != nullptr && *no_colour != '\0') return false;
  return ::isatty(STDOUT_FILENO) == 1 && terminal != nullptr && std::strcmp(terminal, "dumb") != 0;
}

}  // namespace

Console::Console(Chatter chatter)
    : chatter_(chatter),
      colour_(wants_colour()),
      has_terminal_(::isatty(STDERR_FILENO) == 1),
      shows_progress_(chatter == Chatter::kNormal && has_terminal_) {}

Console::~Console() { clear_progress(); }

void Console::out(std::string_view text) {
  clear_progress();
  if (reader_gone_) return;
  const int fault = storage::write_fully(STDOUT_FILENO, text);
  if (fault == EPIPE) {
    reader_gone_ = true;
  } else if (fault != 0) {
    throw Error(ErrorKind::kInput,
                std::string("standard output cannot be written: ") + std::strerror(fault) + ". Send it elsewhere, or use -o FILE.");
  }
}

void Console::complain(std::string_view message) {
  clear_progress();
  const std::string line = "evenwall: " + base::escaped(message) + "\n";
  if (told_.insert(line).second) storage::write_fully(STDERR_FILENO, line);
}

void Console::aside(std::string_view text) {
  clear_progress();
  storage::write_fully(STDERR_FILENO, text);
}

void Console::warn(std::string_view message) {
  if (chatter_ == Chatter::kNormal) complain(message);
}

void Console::progress(std::string_view state) {
  if (!shows_progress_) return;
  clear_progress();
  storage::write_fully(STDERR_FILENO, state);
  progress_shown_ = true;
}

void Console::bell() {
  if (has_terminal_) storage::write_fully(STDERR_FILENO, "\a");
}

void Console::clear_progress() {
  if (progress_shown_) storage::write_fully(STDERR_FILENO, "\r\x1b[K");
  progress_shown_ = false;
}

std::string strict_failure(const std::string& in_front, const Warning& warning, const std::string& done) {
  return fmt::format("{}the warning {} fails the run under --strict.{} Correct its cause, or run without --strict.", in_front,
                     enum_name(warning.code), done);
}

}  // namespace evenwall::internal::app
