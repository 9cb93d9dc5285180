// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/folder_notices.hpp"

#include <sys/inotify.h>
#include <sys/vfs.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>

namespace evenwall::internal::storage {
namespace {

constexpr std::size_t kBuffer_bytes = 1 << 16;  // holds some hundred notices
constexpr int kMostReads = 100;                 // in one call; a program that never stops writing must not detain the caller
// IN_CREATE reports a file that is being written. Without it, the file would be seen only when it is finished.
constexpr std::uint32_t kAsked =
    IN_CLOSE_WRITE | IN_MOVED_TO | IN_CREATE | IN_DELETE | IN_MOVED_FROM | IN_DELETE_SELF | IN_MOVE_SELF | IN_ONLYDIR;
constexpr std::uint32_t kEnding = IN_DELETE_SELF | IN_MOVE_SELF | IN_UNMOUNT | IN_IGNORED;
// Numbers of the kernel (linux/magic.h and the sources of the file systems): NFS, SMB, CIFS, SMB2, 9P, FUSE, AFS (two), Ceph, Coda, the
// shared folders of a virtual machine, Lustre, GFS2, OCFS2.
constexpr std::array<unsigned long, 14> kShared{0x6969,     0x517B,     0xFF534D42, 0xFE534D42, 0x01021997, 0x65735546, 0x5346414F,
                                                0x6B414653, 0x00C36400, 0x73757245, 0x786F4256, 0x0BD00BD0, 0x01161970, 0x7461636F};

std::unique_ptr<FolderNotices>& prepared() {
  static std::unique_ptr<FolderNotices> notices;
  return notices;
}

}  // namespace

bool is_shared_by_machines(unsigned long kind) { return std::find(kShared.begin(), kShared.end(), kind & 0xFFFFFFFF) != kShared.end(); }

std::unique_ptr<FolderNotices> FolderNotices::of(const std::filesystem::path& folder) {
  struct statfs status {};
  if (::statfs(folder.c_str(), &status) != 0 || is_shared_by_machines(static_cast<unsigned long>(status.f_type))) return nullptr;
  Descriptor inotify(::inotify_init1(IN_NONBLOCK | IN_CLOEXEC));
  if (inotify.get() < 0 || ::inotify_add_watch(inotify.get(), folder.c_str(), kAsked) < 0) return nullptr;
  return std::unique_ptr<FolderNotices>(new FolderNotices(std::move(inotify)));
}

Notices FolderNotices::take() {
  Notices notices;
  alignas(inotify_event) std::array<char, kBuffer_bytes> buffer{};
  for (int reads = 0; reads < kMostReads; ++reads) {
    const ssize_t size = ::read(inotify_.get(), buffer.data(), buffer.size());
    if (size < 0 && errno == EINTR) continue;
    if (size < 0 && errno == EAGAIN) return notices;
    if (size <= 0) {
      notices.ended = true;
      return notices;
    }
    for (std::size_t at = 0; at < static_cast<std::size_t>(size);) {
      inotify_event event{};
      std::memcpy(&event, buffer.data() + at, sizeof event);
      const char* name = buffer.data() + at + sizeof event;
      if ((event.mask & IN_Q_OVERFLOW) != 0) notices.lost = true;
      if ((event.mask & kEnding) != 0) notices.ended = true;
      if ((event.mask & (IN_CLOSE_WRITE | IN_MOVED_TO)) != 0 && event.len > 0) notices.closed.emplace(name);
      at += sizeof event + event.len;
    }
  }
  return notices;
}

void prepare_notices(const std::filesystem::path& folder) { prepared() = FolderNotices::of(folder); }

std::unique_ptr<FolderNotices> prepared_notices() { return std::move(prepared()); }

}  // namespace evenwall::internal::storage
