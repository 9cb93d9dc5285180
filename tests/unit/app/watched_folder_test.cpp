// SPDX-License-Identifier: GPL-3.0-or-later
#include "app/watched_folder.hpp"

#include <filesystem>

#include "evenwall/error.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::app;

namespace {

std::string refused(const std::string& folder) {
  try {
    require_session_folder(folder);
  } catch (const Error& error) {
    return error.what();
  }
  return "";
}

}  // namespace

TEST_CASE("the log, the facts and recordings are followed, and nothing else") {
  for (const char* name : {"steps.csv", "session.json", "step-01.wav", "a.FLAC"}) CHECK(is_followed(name));
  for (const char* name : {"notes.txt", "steps.csv~", ".hidden.wav", "solution.json"}) CHECK_FALSE(is_followed(name));
}

TEST_CASE("a session folder is accepted, also while it is empty") {
  const TempFolder folder;
  CHECK(refused(folder.path().string()).empty());
  folder.write("steps.csv", "");
  CHECK(refused(folder.path().string()).empty());
}

TEST_CASE("no folder, a file and a folder of sessions are refused with the reason") {
  const TempFolder folder;
  folder.write("a.txt", "x");
  CHECK(refused((folder / "missing").string()).find("there is no such folder. Nothing is watched.") != std::string::npos);
  CHECK(refused((folder / "a.txt").string()).find("this is not a folder. Nothing is watched.") != std::string::npos);
  std::filesystem::create_directory(folder / "client");
  folder.write("client/steps.csv", "capture,tilt_deg\n");
  const std::string said = refused(folder.path().string());
  CHECK(said.find("this is a folder of session folders") != std::string::npos);
  CHECK(said.find("client") != std::string::npos);
  folder.write("steps.csv", "capture,tilt_deg\n");  // it is a session itself
  CHECK(refused(folder.path().string()).empty());
}
