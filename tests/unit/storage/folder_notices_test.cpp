// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/folder_notices.hpp"

#include <fcntl.h>
#include <poll.h>
#include <unistd.h>

#include "support/catch.hpp"
#include "support/temp_folder.hpp"

using namespace evenwall::internal::storage;

namespace {

bool can_be_read(const FolderNotices& notices) {
  pollfd asked{notices.descriptor(), POLLIN, 0};
  return ::poll(&asked, 1, 0) > 0;
}

}  // namespace

TEST_CASE("a file is reported when it is closed after writing or renamed into the folder, not before") {
  const TempFolder folder, other;
  const auto notices = FolderNotices::of(folder.path());
  REQUIRE(notices);
  CHECK_FALSE(can_be_read(*notices));
  CHECK(notices->take().closed.empty());  // does not wait
  const int file = ::open((folder / "a").c_str(), O_WRONLY | O_CREAT, 0600);
  REQUIRE(::write(file, "x", 1) == 1);
  CHECK(notices->take().closed.empty());
  ::close(file);
  CHECK(can_be_read(*notices));
  CHECK(notices->take().closed == std::set<std::string>{"a"});
  std::filesystem::rename(folder / "a", folder / "b");
  other.write("c", "x");
  std::filesystem::rename(other / "c", folder / "c");
  const Notices moved = notices->take();
  CHECK(moved.closed == std::set<std::string>{"b", "c"});
  CHECK_FALSE(moved.ended);
  CHECK_FALSE(moved.lost);
  CHECK(folder.read("b") == "x");
  CHECK(notices->take().closed.empty());  // closing after reading is no change
}

TEST_CASE("the end of the folder is reported") {
  const TempFolder place;
  for (const bool removed : {true, false}) {
    std::filesystem::create_directory(place / "inner");
    const auto notices = FolderNotices::of(place / "inner");
    REQUIRE(notices);
    if (removed) {
      std::filesystem::remove(place / "inner");
    } else {
      std::filesystem::rename(place / "inner", place / "elsewhere");
    }
    CHECK(notices->take().ended);
  }
}

TEST_CASE("more notices than the kernel keeps are reported as lost") {
  const TempFolder folder;
  const auto notices = FolderNotices::of(folder.path());
  REQUIRE(notices);
  folder.write("a", "");
  folder.write("b", "");
  for (int i = 0; i < 20000; ++i) {  // the kernel keeps 16,384, and merges equal ones that follow each other
    std::filesystem::rename(folder / "a", folder / "c");
    std::filesystem::rename(folder / "c", folder / "a");
  }
  bool lost = false;
  for (int i = 0; i < 10; ++i) lost = lost || notices->take().lost;
  CHECK(lost);
}

TEST_CASE("only an existing folder gives notices, and no network file system") {
  const TempFolder folder;
  CHECK_FALSE(FolderNotices::of(folder / "none"));
  CHECK_FALSE(FolderNotices::of(folder.write("file", "")));
  CHECK(is_shared_by_machines(0x6969));              // NFS
  CHECK(is_shared_by_machines(0xFF534D42));          // CIFS
  CHECK(is_shared_by_machines(0xFFFFFFFFFE534D42));  // SMB2 in a signed number of 64 bits
  CHECK_FALSE(is_shared_by_machines(0xEF53));        // ext4
  CHECK_FALSE(is_shared_by_machines(0x01021994));    // tmpfs
}

TEST_CASE("prepared notices are given once") {
  const TempFolder folder;
  prepare_notices(folder.path());
  CHECK(prepared_notices());
  CHECK_FALSE(prepared_notices());
}
