// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/option_kinds.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>

#include "base/ranges.hpp"
#include "base/version.hpp"

namespace evenwall::internal::app {
namespace {

/// Reads a number without the locale, and refuses "nan" and "0x10". CLI11 would use the locale and accept both.
double finite_number(const std::string& flag, const std::string& text) {
  const base::Range& range = base::range_of("flag", flag);
  const char* first = text.c_str() + (!text.empty() && text[0] == '+' ? 1 : 0);
  const char* last = text.c_str() + text.size();
  double value = 0;
  const auto [end, fault] = std::from_chars(first, last, value);
  if (fault != std::errc() || end != last || !std::isfinite(value)) {
    throw CLI::ValidationError(fmt::format("{}: '{}' is not a number. Write a number with a decimal point", flag, text));
  }
  if (!base::in_range(range, value))
    throw CLI::ValidationError(fmt::format("{}: {} is out of range; {}", flag, text, base::limits_text(range)));
  return value;
}

}  // namespace

void add_number(CLI::App& command, const std::string& flag, OptionalNumber& target, const std::string& unit, const std::string& what) {
  command
      .add_option_function<std::string>(
          flag, [&target, flag](const std::string& text) { target = finite_number(flag, text); }, what)
      ->type_name(unit);
}

void add_whole_number(CLI::App& command, const std::string& flag, std::uint64_t most, const std::function<void(std::uint64_t)>& take,
                      const std::string& what) {
  const auto parse = [flag, most, take](const std::string& text) {
    std::uint64_t value = 0;
    const auto [end, fault] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (fault != std::errc() || end != text.data() + text.size() || value > most) {
      throw CLI::ValidationError(fmt::format("{}: '{}' is not a whole number from 0 to {}", flag, text, most));
    }
    take(value);
  };
  command.add_option_function<std::string>(flag, parse, what)->type_name("N");
}

void add_path(CLI::App& command, const std::string& flag, std::optional<std::string>& target, const std::string& name,
              const std::string& what) {
  command
      .add_option_function<std::string>(
          flag, [&target](const std::string& path) { target = path; }, what)
      ->type_name(name);
}

void add_output(CLI::App& command, CommonOptions& common, const std::string& what) {
  const auto take = [&common](const std::string& path) { common.output = path == "-" ? std::nullopt : std::optional(path); };
  command.add_option_function<std::string>("-o", take, what)->type_name("FILE");
}

void add_jobs(CLI::App& command, int& jobs) {
  const auto take = [&jobs](std::uint64_t n) { jobs = static_cast<int>(n); };
  add_whole_number(command, "--jobs", static_cast<std::uint64_t>(base::range_of("flag", "--jobs").high), take,
                   "measure this many recordings at a time (0: one for each processor)");
}

void add_wait(CLI::App& command, CommonOptions& common) {
  add_number(command, "--wait", common.wait_s, "SECONDS",
             "limit the wait for the writer of a pipe, or for a file that another program has locked (30)");
}

void add_common(CLI::App& command, CommonOptions& common) {
  add_wait(command, common);
  command.add_flag("--json", common.json, "write one JSON document per line");
  command.add_flag("--quiet", common.quiet, "write no progress and no warnings to standard error");
  command.add_flag("--strict", common.strict, "fail the run on any warning");
  command.set_version_flag("--version", std::string(base::kProgram) + " " + base::kVersion);
}

}  // namespace evenwall::internal::app
