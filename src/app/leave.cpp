#include "app/leave.hpp"

#include <algorithm>
#include <filesystem>

namespace evenwall::app {
namespace {

namespace fs = std::filesystem;

bool is_stream(const fs::path& path) {
  std::error_code missing;
  const fs::file_status status = fs::status(path, missing);
  return path == "-" || (fs::exists(status) && !fs::is_regular_file(status) && !fs::is_directory(status));
}

bool holds_stream(const fs::path& folder) {
  std::error_code failed;
  for (fs::directory_iterator at(folder, failed), end; !failed && at != end; at.increment(failed)) {
    if (is_stream(at->path())) return true;
  }
  return false;
}

bool needs_temporary_folder(const std::string& input) {
  const fs::path path(input);
  std::error_code missing;
  if (is_stream(path)) return true;
  if (fs::is_directory(path, missing)) return holds_stream(path);
  return path.extension() == ".csv" && holds_stream(path.has_parent_path() ? path.parent_path() : fs::path("."));
}

Leave leave(const CommonOptions& common, const std::vector<std::string>& inputs) {
  Leave result;
  if (common.output) result.outputs.push_back(*common.output);
  result.temporary_folder = std::any_of(inputs.begin(), inputs.end(), needs_temporary_folder);
  return result;
}

}  // namespace

std::optional<Leave> leave_of(const CommandLine& told) {
  if (const auto* solve = std::get_if<SolveCommand>(&told)) return leave(solve->common, solve->inputs);
  if (const auto* calibrate = std::get_if<CalibrateCommand>(&told)) return leave(calibrate->common, calibrate->captures);
  const auto* measure = std::get_if<MeasureCommand>(&told);
  if (measure == nullptr) return std::nullopt;
  Leave result = leave(measure->common, measure->captures);
  if (measure->append_path) result.appended.push_back(*measure->append_path);
  return result;
}

}  // namespace evenwall::app
