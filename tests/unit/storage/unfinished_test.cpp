// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/unfinished.hpp"

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::storage;
namespace fs = std::filesystem;

namespace {

FileIdentity identity_at(const fs::path& path) {
  struct stat status {};
  REQUIRE(::lstat(path.c_str(), &status) == 0);
  return identity_of(status);
}

}  // namespace

TEST_CASE("an unfinished file is removed unless it is kept or another file has replaced it") {
  const TempFolder folder;
  const fs::path gone = folder.write("gone", "1");
  const fs::path kept = folder.write("kept", "2");
  const fs::path replaced = folder.write("replaced", "3");
  {
    Unfinished first(gone.string());
    Unfinished second(kept.string());
    Unfinished third(replaced.string());
    const Unfinished unregistered(folder.write("never held", "4").string());
    first.holds(identity_at(gone));
    second.holds(identity_at(kept));
    second.keep();
    third.holds(identity_at(replaced));
    fs::rename(folder.write("mine", "of the user"), replaced);
  }
  CHECK_FALSE(fs::exists(gone));
  CHECK(folder.read("kept") == "2");
  CHECK(folder.read("replaced") == "of the user");
  CHECK(fs::exists(folder / "never held"));
}

TEST_CASE("an unfinished folder is removed only if it is empty") {
  const TempFolder folder;
  fs::create_directories(folder / "empty");
  fs::create_directories(folder / "used/by/someone");
  for (const char* name : {"empty", "used"}) {
    Unfinished made((folder / name).string());
    made.holds(identity_at(folder / name));
  }
  CHECK_FALSE(fs::exists(folder / "empty"));
  CHECK(fs::exists(folder / "used/by/someone"));
}

TEST_CASE("signals are held back while a file is made") {
  sigset_t inside;
  sigset_t after;
  {
    const Making making;
    ::pthread_sigmask(SIG_BLOCK, nullptr, &inside);
  }
  ::pthread_sigmask(SIG_BLOCK, nullptr, &after);
  CHECK(::sigismember(&inside, SIGINT) == 1);
  CHECK(::sigismember(&after, SIGINT) == 0);
}
