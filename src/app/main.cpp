// SPDX-License-Identifier: GPL-3.0-or-later
// Starts the program: parses the command line, runs one command, and gives each kind of failure its exit status.
#include <malloc.h>
#include <unistd.h>

#include <chrono>
#include <cmath>
#include <exception>
#include <new>
#include <optional>
#include <string_view>
#include <type_traits>

#include "app/commands.hpp"
#include "app/console.hpp"
#include "app/permissions.hpp"
#include "evenwall/error.hpp"
#include "report/plot_engine.hpp"
#include "sandbox/confinement.hpp"
#include "sandbox/interruption.hpp"
#include "sandbox/writer_process.hpp"
#include "storage/descriptor.hpp"
#include "storage/folder_notices.hpp"
#include "storage/waiting.hpp"

namespace evenwall::internal::app {
namespace {

// Written once per run, in one line, because docs/reliability.md promises a protection that needs the filter.
constexpr const char* kUnconfined =
    "the system refused the filter of system calls (seccomp). The program runs without it. A recording made to attack the decoder could "
    "change your files. Use only recordings that you trust, or run the program on a system that has seccomp.";
constexpr const char* kUnconfinedStrict =
    "the system refused the filter of system calls (seccomp). Under --strict no recording is opened without it. Run the program on a "
    "system that has seccomp, or run it without --strict.";

constexpr int kKeptBuffer_bytes = 8 * 1024 * 1024;

int say(const Farewell& farewell) {
  Console console(Chatter::kNormal);
  if (!farewell.complaint.empty()) console.complain(farewell.complaint);
  console.out(farewell.out);
  return farewell.exit_status;
}

/// Must run before the process splits in two, so that the limit holds for both.
void limit_waits(const CommonOptions& common) {
  storage::WaitPolicy policy;
  if (common.wait_s) policy.limit = std::chrono::milliseconds(std::llround(1000 * *common.wait_s));
  policy.longer = ", or wait longer with --wait SECONDS";
  if (!common.quiet) policy.notice = [](const std::string& line) { Console(Chatter::kNormal).complain(line); };
  storage::set_wait_policy(std::move(policy));
}

const CommonOptions& common_of(const CommandLine& told) {
  static const CommonOptions none;
  return std::visit(
      [](const auto& command) -> const CommonOptions& {
        if constexpr (std::is_same_v<std::decay_t<decltype(command)>, Farewell>) {
          return none;
        } else {
          return command.common;
        }
      },
      told);
}

/// Confines the process. Returns the exit status if the process must end because the system does not allow that.
std::optional<int> confined(const Permissions& permissions) {
  if (sandbox::confine()) return std::nullopt;
  Console console(permissions.quiet ? Chatter::kQuiet : Chatter::kNormal);
  if (permissions.strict) {
    console.complain(kUnconfinedStrict);
    return kExitNoAnswer;
  }
  console.warn(kUnconfined);
  return std::nullopt;
}

int run(const CommandLine& told) {
  if (const auto* farewell = std::get_if<Farewell>(&told)) return say(*farewell);
  limit_waits(common_of(told));
  sandbox::end_with_this_process(report::end_gnuplot_for_good);
  if (const auto permissions = permissions_of(told)) {  // must run before a second thread starts
    if (const auto status = sandbox::split_off_work(permissions->paths)) return *status;
    storage::prepare_spools(permissions->streams);
    if (permissions->watched) storage::prepare_notices(*permissions->watched);
    if (const auto status = confined(*permissions)) return *status;
  }
  if (!sandbox::is_split_off()) sandbox::watch_for_interruption();
  if (const auto* measure = std::get_if<MeasureCommand>(&told)) return run_measure(*measure);
  if (const auto* solve = std::get_if<SolveCommand>(&told)) return run_solve(*solve);
  if (const auto* calibrate = std::get_if<CalibrateCommand>(&told)) return run_calibrate(*calibrate);
  if (const auto* survey = std::get_if<SurveyCommand>(&told)) return run_survey(*survey);
  if (const auto* report = std::get_if<ReportCommand>(&told)) return run_report(*report);
  if (const auto* fresh = std::get_if<NewCommand>(&told)) return run_new(*fresh);
  if (const auto* watch = std::get_if<WatchCommand>(&told)) return run_watch(*watch);
  return run_simulate(std::get<SimulateCommand>(told));
}

int complain(const char* message) {
  Console(Chatter::kNormal).complain(message);
  return kExitNoAnswer;
}

int complain_without_memory() {
  constexpr std::string_view kMessage =
      "evenwall: the program is out of memory. Close other programs, or measure one recording at a time (--jobs 1).\n";
  static_cast<void>(::write(STDERR_FILENO, kMessage.data(), kMessage.size()) == 0);
  return kExitNoAnswer;
}

int guarded(int argc, const char* const* argv) {
  try {
    return run(parse_command_line(argc, argv));
  } catch (const std::bad_alloc&) {
    return complain_without_memory();
  } catch (const Error& error) {
    return complain(error.what());
  } catch (const std::exception& fault) {
    return complain((std::string("this is a fault of this program: ") + fault.what() + ". Please report it.").c_str());
  }
}

}  // namespace
}  // namespace evenwall::internal::app

int main(int argc, char* argv[]) {
#if defined(__GLIBC__)
  // Each passage allocates and frees buffers of a few hundred kilobytes. If they went back to the system each time, the system would have
  // to clear their pages again.
  ::mallopt(M_MMAP_THRESHOLD, evenwall::internal::app::kKeptBuffer_bytes);
  ::mallopt(M_TRIM_THRESHOLD, evenwall::internal::app::kKeptBuffer_bytes);
#endif
  evenwall::internal::sandbox::fill_closed_descriptors();
  evenwall::internal::sandbox::report_failed_writes();
  return evenwall::internal::app::guarded(argc, argv);
}
