// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/folder_names.hpp"

#include <algorithm>

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall::internal::storage;

TEST_CASE("a folder's names are listed without the folder itself and its parent") {
  const TempFolder folder;
  folder.write("b", "");
  folder.write(".hidden", "");
  std::filesystem::create_directory(folder / "inner");
  std::error_code fault = std::make_error_code(std::errc::io_error);
  auto names = names_in(folder.path(), fault);
  std::sort(names.begin(), names.end());
  CHECK_FALSE(fault);
  CHECK(names == std::vector<std::string>{".hidden", "b", "inner"});
}

TEST_CASE("a folder that cannot be read gives the reason") {
  const TempFolder folder;
  std::error_code fault;
  CHECK(names_in(folder / "none", fault).empty());
  CHECK(fault == std::errc::no_such_file_or_directory);
  CHECK(names_in(folder.write("file", ""), fault).empty());
  CHECK(fault == std::errc::not_a_directory);
}
