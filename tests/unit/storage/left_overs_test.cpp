// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/left_overs.hpp"

#include <fcntl.h>
#include <sys/stat.h>

#include <chrono>

#include "evenwall/files.hpp"
#include "storage/descriptor.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::storage;

namespace {

void age(const fs::path& path, int hours) { fs::last_write_time(path, fs::file_time_type::clock::now() - std::chrono::hours(hours)); }

struct stat status_of(const fs::path& path) {
  struct stat status {};
  REQUIRE(::lstat(path.c_str(), &status) == 0);
  return status;
}

/// Makes a temporary file like one that a killed run leaves.
fs::path left_over(const TempFolder& folder, const std::string& target) {
  const fs::path made = folder.write("made", "half");
  const fs::path named = temporary_name(folder / target, status_of(made).st_ino);
  fs::rename(made, named);
  return named;
}

}  // namespace

TEST_CASE("Old temporary files of killed runs are removed, but not files of the user, of other targets or of running processes") {
  const TempFolder folder;
  const fs::path ours = left_over(folder, "a.json");
  const fs::path other = left_over(folder, "b.json");
  const fs::path young = left_over(folder, "a.json");
  const fs::path users = folder.write(".a.json.tmp-backup", "mine");
  const fs::path held = left_over(folder, "a.json");
  for (const fs::path& path : {ours, other, users, held}) age(path, 2);
  const Descriptor lock(::open(held.c_str(), O_RDONLY | O_CLOEXEC));
  mark_in_use(lock.get());
  write_whole(folder / "a.json", "x");
  CHECK_FALSE(fs::exists(ours));
  for (const fs::path& path : {other, young, users, held}) CHECK(fs::exists(path));
  CHECK(folder.entries() == 5);
}

TEST_CASE("A temporary name is never longer than names may be, and differs each time") {
  const std::string longest(255, 'n');
  const fs::path one = temporary_name(longest, ~ino_t{0});
  CHECK(one.filename().native().size() <= 255);
  CHECK(one.parent_path() == ".");
  CHECK(one != temporary_name(longest, ~ino_t{0}));
  CHECK(temporary_name("/a/b", 37).native().starts_with("/a/.b.tmp-11-"));
}
