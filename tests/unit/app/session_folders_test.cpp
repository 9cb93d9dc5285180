// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/session_folders.hpp"

#include <filesystem>
#include <fstream>

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall::internal::app;
namespace fs = std::filesystem;

TEST_CASE("a folder of sessions stands for its sessions, in order of their names") {
  const TempFolder folder;
  const fs::path top = folder.path();
  for (const char* name : {"b", "a/second", "a/first", "c/d/e", "empty"}) fs::create_directories(top / name);
  for (const char* name : {"b", "a/second", "a/first", "c/d/e"}) std::ofstream(top / name / "steps.csv") << "capture,tilt_deg\n";
  fs::create_directories(top / "b/inner");
  std::ofstream(top / "b/inner/steps.csv") << "x";  // within a session, so no session of its own
  std::ofstream(top / "c/d/take-1.wav") << "x";     // recordings without a log are a session
  fs::create_directory_symlink(top / "a", top / "z");
  const auto at = [&](const char* name) { return (top / name).string(); };
  CHECK(with_sessions_of_folders({top.string()}) == std::vector{at("a/first"), at("a/second"), at("b"), at("c/d")});
  CHECK(with_sessions_of_folders({at("b"), "-", "missing.csv", at("empty")}) ==
        std::vector<std::string>{at("b"), "-", "missing.csv", at("empty")});
  CHECK(sessions_below(top.string(), 1) == std::vector{at("b")});
  CHECK(sessions_below(top.string(), 2) == std::vector{at("a/first"), at("a/second"), at("b"), at("c/d")});
  CHECK(sessions_below(at("empty"), 2).empty());
}
