#include "files/confinement.hpp"

#include <fcntl.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/sched.h>
#include <linux/seccomp.h>
#include <sys/ioctl.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstddef>
#include <cstdint>

#include "files/descriptor.hpp"

namespace evenwall {
namespace {

// linux/landlock.h of Debian 12 ends at the second version: what is used is written down here, as the kernel's interface has it.
struct Ruleset {
  std::uint64_t handled_files;
  std::uint64_t handled_network;  // from the fourth version on
};
constexpr unsigned kAskVersion = 1;
constexpr std::uint64_t kExecute = 1U << 0U;
constexpr std::uint64_t kWriteFile = 1U << 1U;
constexpr std::uint64_t kRemoveFolder = 1U << 4U;
constexpr std::uint64_t kRemoveFile = 1U << 5U;
constexpr std::uint64_t kMakeRegular = 1U << 8U;
constexpr std::uint64_t kMakeOthers = (1U << 6U) | (1U << 7U) | (1U << 9U) | (1U << 10U) | (1U << 11U) | (1U << 12U);
constexpr std::uint64_t kRefer = 1U << 13U;     // second version
constexpr std::uint64_t kTruncate = 1U << 14U;  // third version
constexpr std::uint64_t kConnectAndBind = 3;    // fourth version

std::uint64_t files_handled(long version) {
  return kExecute | kWriteFile | kRemoveFolder | kRemoveFile | kMakeRegular | kMakeOthers | (version >= 2 ? kRefer : 0) |
         (version >= 3 ? kTruncate : 0);
}

/// Files and the network, by Landlock: a ruleset that allows nothing of what it handles.
void confine_files() noexcept {
  const long version = ::syscall(SYS_landlock_create_ruleset, nullptr, 0, kAskVersion);
  if (version < 1) return;
  const Ruleset handled{files_handled(version), kConnectAndBind};
  const std::size_t size = version >= 4 ? sizeof handled : sizeof handled.handled_files;
  const Descriptor ruleset(static_cast<int>(::syscall(SYS_landlock_create_ruleset, &handled, size, 0)));
  if (ruleset.get() >= 0) ::syscall(SYS_landlock_restrict_self, ruleset.get(), 0);
}

#if defined(__x86_64__)
constexpr std::uint32_t kMachine = AUDIT_ARCH_X86_64;
constexpr std::uint32_t kForeignCalls = 0x40000000;  // x32: the same calls by other numbers
#elif defined(__aarch64__)
constexpr std::uint32_t kMachine = AUDIT_ARCH_AARCH64;
constexpr std::uint32_t kForeignCalls = 0x40000000;
#else
constexpr std::uint32_t kMachine = 0;
constexpr std::uint32_t kForeignCalls = 0;
#endif

// A program that is searched for leaks traces itself at its end.
#if defined(__SANITIZE_ADDRESS__)
constexpr bool kTracesItself = true;
#elif defined(__has_feature)
constexpr bool kTracesItself = __has_feature(address_sanitizer);
#else
constexpr bool kTracesItself = false;
#endif

// Younger than Debian 12's headers; the same number on every machine.
constexpr std::uint32_t kFchmodat2 = 452, kSetxattrat = 463, kRemovexattrat = 466;

constexpr std::uint32_t kRefusedCalls[] = {
    SYS_socket,
    SYS_socketpair,
    SYS_execve,
    SYS_execveat,
    SYS_io_uring_setup,
    // What Landlock leaves of files: modes, owners, times, attributes.
    SYS_fchmod,
    SYS_fchmodat,
    kFchmodat2,
    SYS_fchown,
    SYS_fchownat,
    SYS_utimensat,
    SYS_setxattr,
    SYS_lsetxattr,
    SYS_fsetxattr,
    kSetxattrat,
    SYS_removexattr,
    SYS_lremovexattr,
    SYS_fremovexattr,
    kRemovexattrat,
    // Other processes, the one that writes among them. (abort() sends its signal by tgkill, see below.)
    SYS_kill,
    SYS_tkill,
    SYS_rt_sigqueueinfo,
    SYS_rt_tgsigqueueinfo,
    SYS_pidfd_send_signal,
    SYS_pidfd_getfd,
    SYS_process_vm_readv,
    SYS_process_vm_writev,
    // What outlives the process and is no file.
    SYS_shmget,
    SYS_msgget,
    SYS_semget,
    SYS_mq_open,
    SYS_mq_unlink,
    SYS_add_key,
    SYS_request_key,
    SYS_keyctl,
    // Ways to more of the kernel.
    SYS_bpf,
    SYS_perf_event_open,
    SYS_userfaultfd,
    SYS_unshare,
    SYS_setns,
    SYS_mount,
    SYS_umount2,
#if defined(__x86_64__)
    SYS_chmod,
    SYS_chown,
    SYS_lchown,
    SYS_utime,
    SYS_utimes,
    SYS_futimesat,
    SYS_fork,
    SYS_vfork,
#endif
};

/// What the kernel asks at each system call, from its number and arguments.
class CallFilter {
 public:
  CallFilter() {
    load(offsetof(seccomp_data, arch));
    end_unless(kMachine);
    load(offsetof(seccomp_data, nr));
    add({kAtLeast, 0, 1, kForeignCalls});
    add(kRefused);
  }
  /// The call ends with EPERM, or another error.
  void refuse(std::uint32_t call, std::uint32_t error_number = EPERM) {
    add({kEqual, 0, 1, call});
    add({kReturn, 0, 0, SECCOMP_RET_ERRNO | error_number});
  }
  /// The call is refused unless the argument is `value`.
  void demand(std::uint32_t call, std::size_t argument, std::uint32_t value) { judge(call, argument, {kEqual, 1, 0, value}); }
  /// … unless it has the bits.
  void demand_bits(std::uint32_t call, std::size_t argument, std::uint32_t bits) { judge(call, argument, {kAnyBit, 1, 0, bits}); }
  /// … if the argument is `value`.
  void forbid(std::uint32_t call, std::size_t argument, std::uint32_t value) { judge(call, argument, {kEqual, 0, 1, value}); }
  void install() {
    add(kAllowed);
    const sock_fprog program{static_cast<std::uint16_t>(size_), steps_.data()};
    ::prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program);
  }

 private:
  static constexpr auto kLoad = static_cast<std::uint16_t>(BPF_LD | BPF_W | BPF_ABS);
  static constexpr auto kEqual = static_cast<std::uint16_t>(BPF_JMP | BPF_JEQ | BPF_K);
  static constexpr auto kAtLeast = static_cast<std::uint16_t>(BPF_JMP | BPF_JGE | BPF_K);
  static constexpr auto kAnyBit = static_cast<std::uint16_t>(BPF_JMP | BPF_JSET | BPF_K);
  static constexpr auto kReturn = static_cast<std::uint16_t>(BPF_RET | BPF_K);
  static constexpr sock_filter kAllowed{kReturn, 0, 0, SECCOMP_RET_ALLOW};
  static constexpr sock_filter kRefused{kReturn, 0, 0, SECCOMP_RET_ERRNO | EPERM};

  void add(sock_filter step) {
    if (size_ < steps_.size()) steps_[size_++] = step;
  }
  void load(std::size_t at) { add({kLoad, 0, 0, static_cast<std::uint32_t>(at)}); }
  void end_unless(std::uint32_t value) {
    add({kEqual, 1, 0, value});
    add(kRefused);
  }
  /// `good` passes over the refusal where the argument is as it should be. Its low half is looked at: these arguments have no other.
  void judge(std::uint32_t call, std::size_t argument, sock_filter good) {
    add({kEqual, 0, 4, call});
    load(offsetof(seccomp_data, args) + argument * sizeof(std::uint64_t));
    add(good);
    add(kRefused);
    add(kAllowed);
  }

  std::array<sock_filter, 160> steps_{};
  std::size_t size_ = 0;
};

/// Programs, processes, sockets of every kind (Landlock knows TCP only) and the rest, by seccomp.
void confine_calls() noexcept {
  if (kMachine == 0) return;
  CallFilter filter;
  for (const std::uint32_t call : kRefusedCalls) filter.refuse(call);
  filter.demand(SYS_tgkill, 0, static_cast<std::uint32_t>(::getpid()));
  filter.forbid(SYS_ioctl, 1, TIOCSTI);  // typing into the terminal
  if (!kTracesItself) {
    filter.refuse(SYS_ptrace);
    filter.demand_bits(SYS_clone, 0, CLONE_THREAD);  // threads, no processes
    filter.refuse(SYS_clone3, ENOSYS);               // which the C library takes for an older kernel, and calls clone
  }
  filter.install();
}

}  // namespace

void confine() noexcept {
  if (::prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0) return;
  confine_files();
  confine_calls();
}

}  // namespace evenwall
