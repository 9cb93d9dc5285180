#include "app/output.hpp"

#include "app/scribe.hpp"
#include "base/text.hpp"
#include "evenwall/error.hpp"

namespace evenwall::app {

void check_output(const std::string& path, const std::vector<std::string>& inputs, WriteKind kind) {
  std::error_code fault;
  for (const std::string& input : inputs) {
    if (fs::equivalent(path, input, fault)) {
      throw Error(ErrorKind::kInput, escaped(path) + ": is an input too and would be lost; name another output");
    }
  }
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
