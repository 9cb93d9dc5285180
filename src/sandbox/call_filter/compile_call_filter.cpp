// SPDX-License-Identifier: GPL-3.0-or-later
// Writes the filter of system calls that confinement.cpp installs, as a C++ header on standard output. It runs while evenwall is built.
//
// libseccomp compiles the filter here and not in the program, because it does not survive a lack of memory, and compiling takes a
// millisecond. The process number is known only later: kOwnProcess is its placeholder, and the header lists the instructions that hold it.
#include <fcntl.h>
#include <linux/filter.h>
#include <linux/sched.h>
#include <seccomp.h>
#include <sys/ioctl.h>
#include <sys/mman.h>
#include <unistd.h>

#include <cerrno>
#include <cstdint>
#include <cstdio>
#include <initializer_list>
#include <vector>

namespace {

// A program built with the address sanitizer starts, at its end, a process that traces it to find memory leaks.
#if defined(__SANITIZE_ADDRESS__)
constexpr bool kTracesItself = true;
#elif defined(__has_feature)
constexpr bool kTracesItself = __has_feature(address_sanitizer);
#else
constexpr bool kTracesItself = false;
#endif

constexpr int kAllowedCalls[] = {
    // files; opening for reading is allowed below
    SCMP_SYS(read), SCMP_SYS(readv), SCMP_SYS(pread64), SCMP_SYS(lseek), SCMP_SYS(close), SCMP_SYS(fadvise64), SCMP_SYS(stat),
    SCMP_SYS(lstat), SCMP_SYS(fstat), SCMP_SYS(newfstatat), SCMP_SYS(statx), SCMP_SYS(access), SCMP_SYS(faccessat), SCMP_SYS(getdents64),
    SCMP_SYS(readlink), SCMP_SYS(readlinkat), SCMP_SYS(getcwd),
    // open descriptors
    SCMP_SYS(write), SCMP_SYS(writev), SCMP_SYS(recvfrom), SCMP_SYS(poll), SCMP_SYS(ppoll),
    // the test whether a FIFO has a writer
    SCMP_SYS(pipe2), SCMP_SYS(tee),
    // memory
    SCMP_SYS(brk), SCMP_SYS(munmap), SCMP_SYS(mremap), SCMP_SYS(madvise),
    // threads
    SCMP_SYS(futex), SCMP_SYS(set_robust_list), SCMP_SYS(rseq), SCMP_SYS(exit), SCMP_SYS(exit_group), SCMP_SYS(sched_yield),
    SCMP_SYS(sched_getaffinity), SCMP_SYS(gettid), SCMP_SYS(getpid), SCMP_SYS(getppid),
    // signals to the process itself
    SCMP_SYS(rt_sigaction), SCMP_SYS(rt_sigprocmask), SCMP_SYS(rt_sigreturn), SCMP_SYS(rt_sigtimedwait), SCMP_SYS(sigaltstack),
    SCMP_SYS(restart_syscall),
    // clocks and facts about the system
    SCMP_SYS(clock_gettime), SCMP_SYS(clock_getres), SCMP_SYS(clock_nanosleep), SCMP_SYS(nanosleep), SCMP_SYS(gettimeofday), SCMP_SYS(time),
    SCMP_SYS(getrandom), SCMP_SYS(uname), SCMP_SYS(sysinfo), SCMP_SYS(getuid), SCMP_SYS(geteuid), SCMP_SYS(getgid), SCMP_SYS(getegid)};

constexpr int kTracingCalls[] = {SCMP_SYS(clone), SCMP_SYS(getdents), SCMP_SYS(ptrace), SCMP_SYS(wait4), SCMP_SYS(prctl)};

// A C library tries these calls first and uses an older call only after ENOSYS; it would report EPERM to the program.
constexpr int kFallbackCalls[] = {SCMP_SYS(clone3),      SCMP_SYS(openat2),      SCMP_SYS(faccessat2),
                                  SCMP_SYS(close_range), SCMP_SYS(epoll_pwait2), SCMP_SYS(futex_waitv)};
// Calls newer than libseccomp of Debian 12 have the same numbers on every machine; later C libraries may try them.
constexpr int kFirstUnknownCall = 451;
constexpr int kLastUnknownCall = 480;

constexpr scmp_datum_t kOwnProcess = 0x7ac0ffee;  // no command of fcntl or ioctl has this number
constexpr scmp_datum_t kInt = 0xffffffff;         // the kernel reads these arguments as 32 bits
constexpr scmp_datum_t kOpenFlags = O_CLOEXEC | O_NOCTTY | O_NONBLOCK | O_DIRECTORY | O_NOFOLLOW;
constexpr scmp_datum_t kThreadFlags = CLONE_VM | CLONE_FS | CLONE_FILES | CLONE_SIGHAND | CLONE_SYSVSEM | CLONE_SETTLS |
                                      CLONE_PARENT_SETTID | CLONE_CHILD_CLEARTID | CLONE_CHILD_SETTID | CLONE_DETACHED;
constexpr scmp_datum_t kTerminalFacts2 = 0x802c542a;  // TCGETS2, which later C libraries use in isatty

scmp_arg_cmp argument_is(unsigned argument, scmp_datum_t value) { return {argument, SCMP_CMP_MASKED_EQ, kInt, value}; }
scmp_arg_cmp no_bit_of(unsigned argument, scmp_datum_t bits) { return {argument, SCMP_CMP_MASKED_EQ, bits, 0}; }
scmp_arg_cmp is_null(unsigned argument) { return {argument, SCMP_CMP_EQ, 0, 0}; }

/// A list of calls, compiled by libseccomp. Every call that it does not allow fails with EPERM.
class CallFilter {
 public:
  CallFilter() : context_(::seccomp_init(SCMP_ACT_ERRNO(EPERM))) {
    note(context_ == nullptr ? -ENOMEM : 0);
    note(::seccomp_attr_set(context_, SCMP_FLTATR_ACT_BADARCH, SCMP_ACT_ERRNO(EPERM)));  // calls of another machine: 32 bits, x32
    note(::seccomp_attr_set(context_, SCMP_FLTATR_CTL_OPTIMIZE, 2));                     // a binary tree, because reads are frequent
  }
  CallFilter(const CallFilter&) = delete;
  CallFilter& operator=(const CallFilter&) = delete;
  ~CallFilter() { ::seccomp_release(context_); }

  void allow(int call, std::initializer_list<scmp_arg_cmp> conditions = {}) { add(SCMP_ACT_ALLOW, call, conditions); }
  void deny_existence(int call) { add(SCMP_ACT_ERRNO(ENOSYS), call, {}); }
  /// The compiled list; empty if libseccomp has refused any part of it.
  [[nodiscard]] std::vector<sock_filter> compiled() {
    std::vector<sock_filter> steps(BPF_MAXINSNS);
    const int file = ::memfd_create("filter", MFD_CLOEXEC);
    note(::seccomp_export_bpf(context_, file));
    const ssize_t bytes = ::pread(file, steps.data(), steps.size() * sizeof(sock_filter), 0);
    ::close(file);
    if (fault_ != 0 || bytes < 0) return {};
    steps.resize(static_cast<std::size_t>(bytes) / sizeof(sock_filter));
    return steps;
  }

 private:
  void note(int result) { fault_ = fault_ != 0 ? fault_ : result; }
  void add(std::uint32_t action, int call, std::initializer_list<scmp_arg_cmp> conditions) {
    if (call < 0) return;  // libseccomp's number of a call that this machine does not have is negative
    note(::seccomp_rule_add_array(context_, action, call, static_cast<unsigned>(conditions.size()), conditions.begin()));
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
  filter.allow(SCMP_SYS(prlimit64), {argument_is(0, 0), is_null(2)});  // the process's own limits, which it cannot change
  filter.allow(SCMP_SYS(tgkill), {argument_is(0, kOwnProcess)});
}

std::vector<sock_filter> compiled_filter() {
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
  return filter.compiled();
}

}  // namespace

int main() {
  const std::vector<sock_filter> steps = compiled_filter();
  std::printf(
      "// Written by compile_call_filter.cpp while evenwall was built.\n#pragma once\n\n#include <linux/filter.h>\n\n#include "
      "<cstddef>\n\n");
  std::printf("namespace evenwall {\n\ninline constexpr sock_filter kCallFilter[] = {\n");
  for (const sock_filter& step : steps) std::printf("    {0x%x, %u, %u, 0x%xU},\n", step.code, step.jt, step.jf, step.k);
  std::printf("};\n\n/// Instructions that hold the number of the process.\ninline constexpr std::size_t kOwnProcessSteps[] = {\n");
  std::size_t found = 0;
  for (std::size_t i = 0; i < steps.size(); ++i) {
    if (steps[i].k != kOwnProcess) continue;
    std::printf("    %zu,\n", i);
    ++found;
  }
  std::printf("};\n\n}  // namespace evenwall\n");
  if (found > 0) return 0;
  std::fputs("compile_call_filter: libseccomp compiled no filter with the number of the process in it\n", stderr);
  return 1;
}
