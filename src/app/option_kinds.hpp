// SPDX-License-Identifier: GPL-3.0-or-later
// Declares kinds of options on a command: numbers, paths, and the flags that all commands have.
#pragma once

#include <CLI/CLI.hpp>
#include <cstdint>
#include <functional>
#include <optional>
#include <string>

#include "app/options.hpp"

namespace evenwall::internal::app {

/// A finite number within the range of the flag (base/ranges.hpp).
void add_number(CLI::App& command, const std::string& flag, OptionalNumber& target, const std::string& unit, const std::string& what);
/// A whole number from 0 to `most`.
void add_whole_number(CLI::App& command, const std::string& flag, std::uint64_t most, const std::function<void(std::uint64_t)>& take,
                      const std::string& what);
void add_path(CLI::App& command, const std::string& flag, std::optional<std::string>& target, const std::string& name,
              const std::string& what);
/// The flag -o. "-" means standard output, as without the flag.
void add_output(CLI::App& command, CommonOptions& common, const std::string& what);
void add_jobs(CLI::App& command, int& jobs);
void add_wait(CLI::App& command, CommonOptions& common);
/// --wait, --json, --quiet, --strict and --version.
void add_common(CLI::App& command, CommonOptions& common);

}  // namespace evenwall::internal::app
