// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/folder_listing.hpp"

#include <algorithm>
#include <fstream>

#include "evenwall/error.hpp"
#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::storage;

TEST_CASE("files are listed, links as what they lead to, and folders are not") {
  const TempFolder folder;
  std::ofstream(folder / "one") << "1";
  std::filesystem::create_directory(folder / "two");
  std::filesystem::create_symlink("one", folder / "three");
  std::filesystem::create_symlink("nowhere", folder / "four");
  std::vector<std::string> names = file_names_in(folder.path());
  std::sort(names.begin(), names.end());
  CHECK(names == std::vector<std::string>{"one", "three"});
}

TEST_CASE("a folder that cannot be listed is refused with its name") {
  CHECK_THROWS_WITH(file_names_in("/nonexistent-folder"), ContainsSubstring("/nonexistent-folder: the folder cannot be listed"));
}

TEST_CASE("folders are listed without links, and a folder that cannot be listed has none") {
  const TempFolder folder;
  std::filesystem::create_directories(folder / "a/b");
  std::filesystem::create_directory_symlink(folder / "a", folder / "link");
  std::ofstream(folder / "file") << "x";
  CHECK(folder_names_in(folder.path()) == std::vector<std::string>{"a"});
  CHECK(folder_names_in(folder.path() / "none").empty());
}
