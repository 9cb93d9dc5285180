#include "app/output.hpp"

#include "app/scribe.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"

namespace evenwall::app {
namespace {

constexpr int kMostLinks = 40;  // the kernel's own limit

/// Where a write to the path would go, links that lead to nothing yet included.
fs::path target_of(fs::path path) {
  std::error_code fault;
  for (int i = 0; i < kMostLinks; ++i) {
    const fs::path next = fs::read_symlink(path, fault);
    if (fault) break;
    path = path.parent_path() / next;  // an absolute one stands for itself
  }
  return fs::weakly_canonical(path, fault);
}

}  // namespace

bool same_file(const std::string& a, const std::string& b) {
  std::error_code fault;
  return fs::equivalent(a, b, fault) || target_of(a) == target_of(b);
}

void refuse_input_as_output(const std::string& path, const std::vector<std::string>& inputs) {
  std::error_code fault;
  for (const std::string& input : inputs) {
    if (fs::equivalent(path, input, fault)) {
      throw Error(ErrorKind::kInput, escaped(path) + ": is an input too and would be lost; name another output");
    }
  }
}

void check_output(const std::string& path, const std::vector<std::string>& inputs, WriteKind kind) {
  refuse_input_as_output(path, inputs);
  check_target(path, kind);
}

void Output::add(const std::string& text) {
  if (path_) {
    held_ += text;
  } else {
    console_.out(text);
  }
}

void Output::finish() {
  if (path_) put_whole(*path_, held_);
}

}  // namespace evenwall::app
