// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/appending.hpp"

#include <sys/stat.h>

#include "storage/descriptor.hpp"
#include "support/catch.hpp"
#include "support/holds.hpp"
#include "support/refusal.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall;
using namespace evenwall::internal::storage;

namespace {
void accepted(int /*descriptor*/, const std::string& /*name*/) {}
void refused(int /*descriptor*/, const std::string& name) { refuse(name, "holds a picture"); }
}  // namespace

TEST_CASE("The content of a file is examined before a line is added to it, and a new file is not examined") {
  const TempFolder folder;
  CHECK(append(folder / "new", "one", Repeats::kAdded, refused));
  CHECK(holds(refusal_of([&] { append(folder / "new", "two", Repeats::kAdded, refused); }), "new: holds a picture"));
  CHECK(folder.read("new") == "one\n");
  CHECK(append(folder / "new", "two", Repeats::kAdded, accepted));
  CHECK(folder.read("new") == "one\ntwo\n");
}

TEST_CASE("A repeated line is added only if the caller permits repeats") {
  const TempFolder folder;
  for (const bool first : {true, false}) CHECK(append(folder / "once", "one", Repeats::kNotAdded, accepted) == first);
  for (int i = 0; i < 2; ++i) CHECK(append(folder / "twice", "one", Repeats::kAdded, accepted));
  CHECK(folder.read("once") == "one\n");
  CHECK(folder.read("twice") == "one\none\n");
}

TEST_CASE("Lines are added only to writable regular files") {
  const TempFolder folder;
  const auto checked = [](const std::filesystem::path& path, const ContentCheck& check) {
    struct stat status {};
    REQUIRE(::stat(path.c_str(), &status) == 0);
    return refusal_of([&] { check_appendable(path, status, "it", check); });
  };
  const auto file = folder.write("file", "text");
  CHECK(holds(checked(file, accepted), "nothing was refused"));
  CHECK(holds(checked(file, refused), "it: holds a picture"));
  CHECK(holds(checked("/dev/null", accepted), "it: this is not a regular file"));
  REQUIRE(::chmod(file.c_str(), 0444) == 0);
  CHECK(holds(checked(file, accepted), "the file is write-protected"));
}
