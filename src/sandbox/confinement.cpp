// SPDX-License-Identifier: GPL-3.0-or-later
#include "sandbox/confinement.hpp"

#include <linux/seccomp.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <array>
#include <cstddef>
#include <cstdint>

#include "sandbox/call_filter/call_filter.hpp"
#include "storage/descriptor.hpp"

namespace evenwall::internal::sandbox {
namespace {

// linux/landlock.h of Debian 12 ends at the second version, so the constants in use are defined here with the numbers of the kernel's
// documentation (userspace-api/landlock).
struct Ruleset {
  std::uint64_t handled_files;
  std::uint64_t handled_network;  // from the fourth version on
  std::uint64_t scopes;           // from the sixth version on
};
constexpr unsigned kAskVersion = 1;
constexpr std::uint64_t kExecute = 1U << 0U;
constexpr std::uint64_t kWriteFile = 1U << 1U;
constexpr std::uint64_t kRemoveFolder = 1U << 4U;
constexpr std::uint64_t kRemoveFile = 1U << 5U;
constexpr std::uint64_t kMakeRegular = 1U << 8U;
constexpr std::uint64_t kMakeOthers = (1U << 6U) | (1U << 7U) | (1U << 9U) | (1U << 10U) | (1U << 11U) | (1U << 12U);
constexpr std::uint64_t kRefer = 1U << 13U;           // second version
constexpr std::uint64_t kTruncate = 1U << 14U;        // third version
constexpr std::uint64_t kDeviceControl = 1U << 15U;   // fifth version: ioctl on devices opened from now on
constexpr std::uint64_t kConnectAndBind = 3;          // fourth version
constexpr std::uint64_t kAbstractSockets = 1U << 0U;  // sixth version
constexpr std::uint64_t kSignals = 1U << 1U;          // sixth version

std::uint64_t files_handled(long version) {
  return kExecute | kWriteFile | kRemoveFolder | kRemoveFile | kMakeRegular | kMakeOthers | (version >= 2 ? kRefer : 0) |
         (version >= 3 ? kTruncate : 0) | (version >= 5 ? kDeviceControl : 0);
}

std::size_t size_of_ruleset(long version) {
  if (version >= 6) return sizeof(Ruleset);
  return version >= 4 ? offsetof(Ruleset, scopes) : offsetof(Ruleset, handled_network);
}

/// Sets up the second barrier: a ruleset that allows nothing of what it handles. A kernel without Landlock is acceptable.
void restrict_by_landlock() noexcept {
  const long version = ::syscall(SYS_landlock_create_ruleset, nullptr, 0, kAskVersion);
  if (version < 1) return;
  const Ruleset handled{files_handled(version), kConnectAndBind, kAbstractSockets | kSignals};
  const storage::Descriptor ruleset(static_cast<int>(::syscall(SYS_landlock_create_ruleset, &handled, size_of_ruleset(version), 0)));
  if (ruleset.get() >= 0) ::syscall(SYS_landlock_restrict_self, ruleset.get(), 0);
}

#if defined(__x86_64__) || defined(__aarch64__)
constexpr bool kKnownMachine = true;
#else
constexpr bool kKnownMachine = false;  // the positions of arguments differ on some machines (clone on s390x)
#endif

bool restrict_by_seccomp() noexcept {
  // Uses the call seccomp, which is newer than prctl's form of it. Valgrind has only prctl's form, and would be confined with the program:
  // its threads end by signals, which the list refuses.
  if (!kKnownMachine) return false;
  auto steps = std::to_array(kCallFilter);
  for (const std::size_t at : kOwnProcessSteps) steps[at].k = static_cast<std::uint32_t>(::getpid());
  const sock_fprog filter{static_cast<std::uint16_t>(steps.size()), steps.data()};
  return ::syscall(SYS_seccomp, SECCOMP_SET_MODE_FILTER, 0, &filter) == 0;
}

}  // namespace

bool confine() noexcept {
  if (::prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0) return false;
  restrict_by_landlock();
  return restrict_by_seccomp();
}

}  // namespace evenwall::internal::sandbox
