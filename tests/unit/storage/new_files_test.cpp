// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/new_files.hpp"

#include "evenwall/error.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::storage;
namespace fs = std::filesystem;

TEST_CASE("files and folders remain only if they are kept") {
  const TempFolder folder;
  {
    NewFiles made(folder / "a/b");
    made.add("one", "1");
    CHECK(folder.read("a/b/one") == "1");
  }
  CHECK(folder.entries() == 0);
  {
    NewFiles made(folder / "a/b");
    made.add("one", "1");
    made.keep();
  }
  CHECK(folder.read("a/b/one") == "1");
}

TEST_CASE("an existing folder with its files is kept, and none of them is replaced") {
  const TempFolder folder;
  folder.write("mine", "as it was");
  {
    NewFiles made(folder.path());
    made.add("new", "1");
    CHECK_THROWS_AS(made.add("mine", "2"), Error);
  }
  CHECK(folder.entries() == 1);
  CHECK(folder.read("mine") == "as it was");
}

TEST_CASE("a folder with one of the names is refused, also if it is a link to nothing") {
  const TempFolder folder;
  CHECK_NOTHROW(refuse_to_replace(folder.path(), {"a", "b"}));
  CHECK_NOTHROW(refuse_to_replace(folder / "none", {"a", "b"}));
  fs::create_symlink("nowhere", folder / "b");
  CHECK_THROWS_WITH(refuse_to_replace(folder.path(), {"a", "b"}),
                    folder.path().string() + ": the folder already holds a session (b). Nothing was written. Name another folder.");
}

TEST_CASE("a folder below a file cannot be made") {
  const TempFolder folder;
  folder.write("file", "x");
  CHECK_THROWS_AS(NewFiles(folder / "file/inner"), Error);
}
