#include "files/confinement.hpp"

#include <fcntl.h>
#include <linux/audit.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstddef>
#include <cstdint>
#include <filesystem>

#include "files/descriptor.hpp"
#include "files/whole_file.hpp"

namespace evenwall {
namespace {

namespace fs = std::filesystem;

// linux/landlock.h of Debian 12 ends at the second version: what is used is written down here, as the kernel's interface has it.
struct Ruleset {
  std::uint64_t handled_files;
  std::uint64_t handled_network;  // from the fourth version on
};
struct [[gnu::packed]] PathRule {
  std::uint64_t allowed;
  std::int32_t parent;
};
constexpr unsigned kAskVersion = 1;
constexpr int kPathRule = 1;
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

void allow(int ruleset, const fs::path& path, std::uint64_t rights) noexcept {
  const Descriptor parent(::open(path.c_str(), O_PATH | O_CLOEXEC));
  struct stat status {};
  if (parent.get() < 0 || ::fstat(parent.get(), &status) != 0) return;  // the output will be refused in its own words
  constexpr std::uint64_t kOfFiles = kWriteFile | kTruncate;
  const PathRule rule{S_ISDIR(status.st_mode) ? rights : rights & kOfFiles, parent.get()};
  ::syscall(SYS_landlock_add_rule, ruleset, kPathRule, &rule, 0);
}

enum class Written { kWhole, kAtItsEnd };

void allow_output(int ruleset, const std::string& output, Written how, std::uint64_t rights) {
  const auto target = file_written_at(output);
  if (!target) return;
  std::error_code missing;
  const fs::file_status status = fs::status(*target, missing);
  const bool beside = !fs::exists(status) || (how == Written::kWhole && fs::is_regular_file(status));
  const fs::path folder = target->has_parent_path() ? target->parent_path() : fs::path(".");
  allow(ruleset, beside ? folder : *target, rights);
}

/// Files and the network, by Landlock.
void confine_files(const Leave& leave) {
  const long version = ::syscall(SYS_landlock_create_ruleset, nullptr, 0, kAskVersion);
  if (version < 1) return;
  const Ruleset handled{files_handled(version), kConnectAndBind};
  const std::size_t size = version >= 4 ? sizeof handled : sizeof handled.handled_files;
  const Descriptor ruleset(static_cast<int>(::syscall(SYS_landlock_create_ruleset, &handled, size, 0)));
  if (ruleset.get() < 0) return;
  const std::uint64_t rights = (kWriteFile | kRemoveFile | kMakeRegular | kTruncate) & handled.handled_files;
  for (const std::string& output : leave.outputs) allow_output(ruleset.get(), output, Written::kWhole, rights);
  for (const std::string& output : leave.appended) allow_output(ruleset.get(), output, Written::kAtItsEnd, rights);
  std::error_code failed;
  const fs::path temporary = fs::temp_directory_path(failed);
  if (leave.temporary_folder && !failed) allow(ruleset.get(), temporary, rights);
  ::syscall(SYS_landlock_restrict_self, ruleset.get(), 0);
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

constexpr std::array<std::uint32_t, 5> kRefusedCalls{SYS_socket, SYS_socketpair, SYS_execve, SYS_execveat, SYS_io_uring_setup};

/// Sockets of every kind (Landlock knows TCP only) and programs, by seccomp.
void confine_calls() noexcept {
  if (kMachine == 0) return;
  constexpr std::size_t kCalls = kRefusedCalls.size();
  constexpr auto kLoad = static_cast<std::uint16_t>(BPF_LD | BPF_W | BPF_ABS);
  constexpr auto kEqual = static_cast<std::uint16_t>(BPF_JMP | BPF_JEQ | BPF_K);
  constexpr auto kAtLeast = static_cast<std::uint16_t>(BPF_JMP | BPF_JGE | BPF_K);
  constexpr auto kReturn = static_cast<std::uint16_t>(BPF_RET | BPF_K);
  std::array<sock_filter, kCalls + 6> filter{};
  std::size_t n = 0;
  const auto refused_from = [&](std::size_t at) { return static_cast<std::uint8_t>(filter.size() - 1 - at - 1); };
  filter[n++] = {kLoad, 0, 0, offsetof(seccomp_data, arch)};
  filter[n] = {kEqual, 0, refused_from(n), kMachine}, ++n;
  filter[n++] = {kLoad, 0, 0, offsetof(seccomp_data, nr)};
  filter[n] = {kAtLeast, refused_from(n), 0, kForeignCalls}, ++n;
  for (const std::uint32_t call : kRefusedCalls) filter[n] = {kEqual, refused_from(n), 0, call}, ++n;
  filter[n++] = {kReturn, 0, 0, SECCOMP_RET_ALLOW};
  filter[n++] = {kReturn, 0, 0, SECCOMP_RET_ERRNO | EPERM};
  const sock_fprog program{static_cast<std::uint16_t>(filter.size()), filter.data()};
  ::prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program);
}

}  // namespace

void confine(const Leave& leave) noexcept {
  if (::prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0) return;
  try {
    confine_files(leave);
  } catch (const std::exception&) {  // no memory for a path: the work that follows will say so
  }
  confine_calls();
}

}  // namespace evenwall
