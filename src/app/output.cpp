#include "app/output.hpp"

#include <unistd.h>

#include <cerrno>
#include <cstring>
#include <filesystem>

#include "base/text.hpp"
#include "evenwall/error.hpp"
#include "evenwall/files.hpp"

namespace evenwall::app {

void check_output(const std::string& path, const std::vector<std::string>& inputs) {
  std::error_code fault;
  if (fs::is_directory(path, fault)) throw Error(ErrorKind::kInput, escaped(path) + ": is a folder; name a file");
  const fs::path folder = fs::path(path).has_parent_path() ? fs::path(path).parent_path() : fs::path(".");
  if (::access(folder.c_str(), W_OK | X_OK) != 0) {
    throw Error(ErrorKind::kInput, escaped(path) + ": its folder can't be written (" + std::strerror(errno) + "); choose another");
  }
  for (const std::string& input : inputs) {
    if (fs::equivalent(path, input, fault)) {
      throw Error(ErrorKind::kInput, escaped(path) + ": is an input too and would be lost; name another output");
    }
  }
}

void Output::add(const std::string& text) {
  if (path_) {
    held_ += text;
  } else {
    console_.out(text);
  }
}

void Output::finish() {
  if (path_) write_whole(*path_, held_);
}

}  // namespace evenwall::app
