// SPDX-License-Identifier: GPL-3.0-or-later
// A library to preload while lines are counted. A confined process may not write the file of its counts. In the program evenwall this
// library answers the calls that confine a process with success and does not pass them on. tests/faults/confinement_test.py tests the
// confinement.
#include <dlfcn.h>
#include <fcntl.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <cerrno>
#include <cstdarg>
#include <cstring>

namespace {

constexpr long kNewestVersion = 6;

bool is_evenwall() { return std::strcmp(program_invocation_short_name, "evenwall") == 0; }

}  // namespace

extern "C" long syscall(long number, ...) noexcept {
  va_list list;
  va_start(list, number);
  long given[6];
  for (long& argument : given) argument = va_arg(list, long);
  va_end(list);
  if (is_evenwall()) {
    if (number == SYS_landlock_create_ruleset) return given[0] == 0 ? kNewestVersion : ::open("/dev/null", O_RDONLY | O_CLOEXEC);
    if (number == SYS_landlock_restrict_self || number == SYS_seccomp) return 0;
  }
  static const auto next = reinterpret_cast<long (*)(long, ...)>(::dlsym(RTLD_NEXT, "syscall"));
  return next(number, given[0], given[1], given[2], given[3], given[4], given[5]);
}
