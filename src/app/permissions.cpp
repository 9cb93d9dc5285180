// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/permissions.hpp"

#include <unistd.h>

#include <filesystem>

namespace evenwall::internal::app {
namespace {

namespace fs = std::filesystem;

bool is_stream(const fs::path& path) {
  std::error_code missing;
  const fs::file_status status = fs::status(path, missing);
  return path == "-" || (fs::exists(status) && !fs::is_regular_file(status) && !fs::is_directory(status));
}

std::size_t streams_in(const fs::path& folder) {
  std::size_t streams = 0;
  std::error_code failed;
  for (fs::directory_iterator at(folder, failed), end; !failed && at != end; at.increment(failed)) {
    if (is_stream(at->path())) ++streams;
  }
  return streams;
}

std::size_t streams_of(const std::string& input) {
  const fs::path path(input);
  std::error_code missing;
  if (is_stream(path)) return 1;
  if (fs::is_directory(path, missing)) return streams_in(path);
  return path.extension() == ".csv" ? streams_in(path.has_parent_path() ? path.parent_path() : fs::path(".")) : 0;
}

Permissions permissions(const CommonOptions& common, const std::vector<std::string>& inputs) {
  Permissions result;
  result.paths.output = common.output;
  result.quiet = common.quiet;
  result.strict = common.strict;
  for (const std::string& input : inputs) result.streams += streams_of(input);
  return result;
}

}  // namespace

bool asks_for_tilts(const WatchCommand& command) {
  return !command.common.json && ::isatty(STDIN_FILENO) == 1 && ::isatty(STDOUT_FILENO) == 1;
}

std::optional<Permissions> permissions_of(const CommandLine& command) {
  if (const auto* solve = std::get_if<SolveCommand>(&command)) return permissions(solve->common, solve->inputs);
  if (const auto* calibrate = std::get_if<CalibrateCommand>(&command)) return permissions(calibrate->common, calibrate->captures);
  if (const auto* watch = std::get_if<WatchCommand>(&command)) {
    Permissions result = permissions(watch->common, {});
    result.watched = watch->folder;
    if (asks_for_tilts(*watch)) result.paths.log = (fs::path(watch->folder) / "steps.csv").string();
    return result;
  }
  const auto* measure = std::get_if<MeasureCommand>(&command);
  if (measure == nullptr) return std::nullopt;
  Permissions result = permissions(measure->common, measure->captures);
  result.paths.appended = measure->append_path;
  result.paths.kept = measure->keep_path;
  return result;
}

}  // namespace evenwall::internal::app
