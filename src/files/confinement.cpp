#include "files/confinement.hpp"

#include <fcntl.h>
#include <linux/sched.h>
#include <linux/seccomp.h>
#include <seccomp.h>
#include <sys/ioctl.h>
#include <sys/mman.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <cerrno>
#include <cstddef>
#include <cstdint>
#include <initializer_list>
#include <new>

#include "files/descriptor.hpp"

namespace evenwall {
namespace {

// linux/landlock.h of Debian 12 ends at the second version, so what is used is written down here with the numbers of the kernel's
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

/// The second barrier: a ruleset that allows nothing of what it handles. A kernel without Landlock breaks no promise.
void restrict_by_landlock() {
  const long version = ::syscall(SYS_landlock_create_ruleset, nullptr, 0, kAskVersion);
  if (version < 1) return;
  const Ruleset handled{files_handled(version), kConnectAndBind, kAbstractSockets | kSignals};
  const Descriptor ruleset(static_cast<int>(::syscall(SYS_landlock_create_ruleset, &handled, size_of_ruleset(version), 0)));
  if (ruleset.get() >= 0) ::syscall(SYS_landlock_restrict_self, ruleset.get(), 0);
}

#if defined(__x86_64__) || defined(__aarch64__)
constexpr bool kKnownMachine = true;
#else
constexpr bool kKnownMachine = false;  // the positions of arguments differ on some machines (clone on s390x)
#endif

// At its end a program that is searched for memory leaks starts a process that traces it.
#if defined(__SANITIZE_ADDRESS__)
constexpr bool kTracesItself = true;
#elif defined(__has_feature)
constexpr bool kTracesItself = __has_feature(address_sanitizer);
#else
constexpr bool kTracesItself = false;
#endif

constexpr int kAllowedCalls[] = {
    // files: open to read is below
    SCMP_SYS(read), SCMP_SYS(readv), SCMP_SYS(pread64), SCMP_SYS(lseek), SCMP_SYS(close), SCMP_SYS(fadvise64), SCMP_SYS(stat),
    SCMP_SYS(lstat), SCMP_SYS(fstat), SCMP_SYS(newfstatat), SCMP_SYS(statx), SCMP_SYS(access), SCMP_SYS(faccessat), SCMP_SYS(getdents64),
    SCMP_SYS(readlink), SCMP_SYS(readlinkat), SCMP_SYS(getcwd),
    // descriptors that are open
    SCMP_SYS(write), SCMP_SYS(writev), SCMP_SYS(recvfrom), SCMP_SYS(poll), SCMP_SYS(ppoll),
    // memory
    SCMP_SYS(brk), SCMP_SYS(munmap), SCMP_SYS(mremap), SCMP_SYS(madvise),
    // threads
    SCMP_SYS(futex), SCMP_SYS(set_robust_list), SCMP_SYS(rseq), SCMP_SYS(exit), SCMP_SYS(exit_group), SCMP_SYS(sched_yield),
    SCMP_SYS(sched_getaffinity), SCMP_SYS(gettid), SCMP_SYS(getpid), SCMP_SYS(getppid),
    // signals to the process itself
    SCMP_SYS(rt_sigaction), SCMP_SYS(rt_sigprocmask), SCMP_SYS(rt_sigreturn), SCMP_SYS(rt_sigtimedwait), SCMP_SYS(sigaltstack),
    SCMP_SYS(restart_syscall),
    // clocks and facts
    SCMP_SYS(clock_gettime), SCMP_SYS(clock_getres), SCMP_SYS(clock_nanosleep), SCMP_SYS(nanosleep), SCMP_SYS(gettimeofday), SCMP_SYS(time),
    SCMP_SYS(getrandom), SCMP_SYS(uname), SCMP_SYS(sysinfo), SCMP_SYS(getuid), SCMP_SYS(geteuid), SCMP_SYS(getgid), SCMP_SYS(getegid)};

constexpr int kTracingCalls[] = {SCMP_SYS(clone), SCMP_SYS(getdents), SCMP_SYS(ptrace), SCMP_SYS(wait4), SCMP_SYS(prctl)};

// A C library tries these first, and takes an older call for ENOSYS only: it would report EPERM to the program.
constexpr int kFallbackCalls[] = {SCMP_SYS(clone3),      SCMP_SYS(openat2),      SCMP_SYS(faccessat2),
                                  SCMP_SYS(close_range), SCMP_SYS(epoll_pwait2), SCMP_SYS(futex_waitv)};
// Calls younger than libseccomp of Debian 12 have the same numbers on every machine; later C libraries may try them.
constexpr int kFirstUnknownCall = 451;
constexpr int kLastUnknownCall = 480;

constexpr scmp_datum_t kInt = 0xffffffff;  // the kernel reads these arguments as 32 bits
constexpr scmp_datum_t kOpenFlags = O_CLOEXEC | O_NOCTTY | O_NONBLOCK | O_DIRECTORY | O_NOFOLLOW;
constexpr scmp_datum_t kThreadFlags = CLONE_VM | CLONE_FS | CLONE_FILES | CLONE_SIGHAND | CLONE_SYSVSEM | CLONE_SETTLS |
                                      CLONE_PARENT_SETTID | CLONE_CHILD_CLEARTID | CLONE_CHILD_SETTID | CLONE_DETACHED;
constexpr scmp_datum_t kTerminalFacts2 = 0x802c542a;  // TCGETS2, which later C libraries ask isatty by

scmp_arg_cmp argument_is(unsigned argument, scmp_datum_t value) { return {argument, SCMP_CMP_MASKED_EQ, kInt, value}; }
scmp_arg_cmp no_bit_of(unsigned argument, scmp_datum_t bits) { return {argument, SCMP_CMP_MASKED_EQ, bits, 0}; }
scmp_arg_cmp is_null(unsigned argument) { return {argument, SCMP_CMP_EQ, 0, 0}; }

/// A list of calls, compiled by libseccomp. Whatever it does not allow fails with EPERM.
class CallFilter {
 public:
  CallFilter() : context_(::seccomp_init(SCMP_ACT_ERRNO(EPERM))) {
    if (context_ == nullptr) throw std::bad_alloc();
    set(SCMP_FLTATR_ACT_BADARCH, SCMP_ACT_ERRNO(EPERM));  // calls of another machine: 32 bits, x32
    set(SCMP_FLTATR_CTL_OPTIMIZE, 2);                     // a binary tree: reads are many
  }
  CallFilter(const CallFilter&) = delete;
  CallFilter& operator=(const CallFilter&) = delete;
  ~CallFilter() { ::seccomp_release(context_); }

  void allow(int call, std::initializer_list<scmp_arg_cmp> conditions = {}) { add(SCMP_ACT_ALLOW, call, conditions); }
  void deny_existence(int call) { add(SCMP_ACT_ERRNO(ENOSYS), call, {}); }
  /// Whether the kernel has taken it.
  [[nodiscard]] bool install() {
    if (fault_ == 0) fault_ = ::seccomp_load(context_);
    if (fault_ == -ENOMEM) throw std::bad_alloc();
    return fault_ == 0;
  }

 private:
  void set(scmp_filter_attr attribute, std::uint32_t value) {
    if (fault_ == 0) fault_ = ::seccomp_attr_set(context_, attribute, value);
  }
  void add(std::uint32_t action, int call, std::initializer_list<scmp_arg_cmp> conditions) {
    if (fault_ != 0 || call < 0) return;  // libseccomp's number of a call that this machine does not have is negative
    fault_ = ::seccomp_rule_add_array(context_, action, call, static_cast<unsigned>(conditions.size()), conditions.begin());
  }

  scmp_filter_ctx context_;
  int fault_ = 0;
};

void allow_with_arguments(CallFilter& filter) {
  filter.allow(SCMP_SYS(open), {no_bit_of(1, kInt & ~kOpenFlags)});
  filter.allow(SCMP_SYS(openat), {no_bit_of(2, kInt & ~kOpenFlags)});
  filter.allow(SCMP_SYS(mmap), {no_bit_of(2, PROT_EXEC)});
  filter.allow(SCMP_SYS(mprotect), {no_bit_of(2, PROT_EXEC)});
  for (const int command : {F_GETFD, F_GETFL}) filter.allow(SCMP_SYS(fcntl), {argument_is(1, static_cast<scmp_datum_t>(command))});
  for (const scmp_datum_t command : {scmp_datum_t{TCGETS}, kTerminalFacts2, scmp_datum_t{TIOCGWINSZ}, scmp_datum_t{FIONREAD}}) {
    filter.allow(SCMP_SYS(ioctl), {argument_is(1, command)});
  }
  filter.allow(SCMP_SYS(sendto), {is_null(4)});                        // on a connection only
  filter.allow(SCMP_SYS(prlimit64), {argument_is(0, 0), is_null(2)});  // its own limits, not to be changed
  filter.allow(SCMP_SYS(tgkill), {argument_is(0, static_cast<scmp_datum_t>(::getpid()))});
}

bool restrict_by_seccomp() {
  // Without this call libseccomp would use prctl. Valgrind has prctl only, and would be confined with the program: its threads end by
  // signals, which the list refuses.
  std::uint32_t action = SECCOMP_RET_ERRNO;
  if (!kKnownMachine || ::syscall(SYS_seccomp, SECCOMP_GET_ACTION_AVAIL, 0, &action) != 0) return false;
  CallFilter filter;
  for (const int call : kAllowedCalls) filter.allow(call);
  allow_with_arguments(filter);
  if (kTracesItself) {
    for (const int call : kTracingCalls) filter.allow(call);
  } else {
    filter.allow(SCMP_SYS(clone), {{0, SCMP_CMP_MASKED_EQ, kInt & ~kThreadFlags, CLONE_THREAD}});
  }
  for (const int call : kFallbackCalls) filter.deny_existence(call);
  for (int call = kFirstUnknownCall; call <= kLastUnknownCall; ++call) filter.deny_existence(call);
  return filter.install();
}

}  // namespace

bool confine() {
  if (::prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0) return false;
  restrict_by_landlock();
  return restrict_by_seccomp();
}

}  // namespace evenwall
