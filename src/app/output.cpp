// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/output.hpp"

#include <sys/stat.h>
#include <unistd.h>

#include "base/text.hpp"
#include "documents/target_check.hpp"
#include "evenwall/error.hpp"
#include "sandbox/writer_process.hpp"
#include "storage/unfinished.hpp"

namespace evenwall::internal::app {
namespace {

constexpr int kMostLinks = 40;  // the limit of the kernel

/// The path to which a write would go. Links are followed even if their target does not exist yet.
fs::path target_of(fs::path path) {
  std::error_code fault;
  for (int i = 0; i < kMostLinks; ++i) {
    const fs::path next = fs::read_symlink(path, fault);
    if (fault) break;
    path = path.parent_path() / next;  // an absolute target replaces the folder
  }
  return fs::weakly_canonical(path, fault);
}

/// The identity of the regular file that `look` finds, if it finds one.
template <typename Look>
std::optional<storage::FileIdentity> regular_file(Look look) {
  struct stat status {};
  return look(status) == 0 && S_ISREG(status.st_mode) ? std::optional(storage::identity_of(status)) : std::nullopt;
}

}  // namespace

bool same_file(const std::string& a, const std::string& b) {
  std::error_code fault;
  if (fs::equivalent(a, b, fault)) return true;
  // Neither file needs to exist yet: the names and the folders are compared, even if the folders are named differently.
  const fs::path first = fs::absolute(target_of(a)), second = fs::absolute(target_of(b));
  return first == second || (first.filename() == second.filename() && fs::equivalent(first.parent_path(), second.parent_path(), fault));
}

void refuse_input_as_output(const std::string& path, const std::vector<std::string>& inputs) {
  const auto output = regular_file([&](struct stat& status) { return ::stat(path.c_str(), &status); });
  if (!output) return;
  // Standard input may be a file that has no name among the inputs.
  bool is_input = output == regular_file([](struct stat& status) { return ::fstat(STDIN_FILENO, &status); });
  for (const std::string& input : inputs) {
    is_input = is_input || output == regular_file([&](struct stat& status) { return ::stat(input.c_str(), &status); });
  }
  if (is_input) {
    throw Error(ErrorKind::kInput,
                base::escaped(path) + ": this file is also an input and would be lost. Nothing was written. Name another output.");
  }
}

void check_output(const std::string& path, const std::vector<std::string>& inputs, WriteKind kind, std::string_view own_schema) {
  refuse_input_as_output(path, inputs);
  sandbox::check_target(path, kind);
  if (kind == WriteKind::kWhole) documents::refuse_other_documents(path, base::escaped(path), own_schema);
}

void Output::add(const std::string& text) {
  if (path_) {
    held_ += text;
  } else {
    console_.out(text);
  }
}

void Output::finish() {
  if (path_) sandbox::put_whole(*path_, held_);
}

}  // namespace evenwall::internal::app
