// SPDX-License-Identifier: GPL-3.0-or-later
#include "storage/unfinished.hpp"

#include <poll.h>
#include <unistd.h>

#include <utility>

namespace evenwall::internal::storage {
namespace {

constexpr int kLongestWait_ms = 50;  // for a name that is being made; an interruption takes effect within 100 ms

std::atomic<int> being_made = 0;
std::atomic<bool> leaving = false;

void remove_if_same(const char* path, FileIdentity identity) {
  struct stat status {};
  if (::lstat(path, &status) != 0 || !(identity_of(status) == identity)) return;
  if (S_ISDIR(status.st_mode)) {
    ::rmdir(path);
  } else {
    ::unlink(path);
  }
}

}  // namespace

/// Entries are never freed, because a signal may arrive while the list is walked, and a run makes few of them.
struct Unfinished::Entry {
  std::string path;
  FileIdentity identity;
  std::atomic<bool> live = false;
  Entry* older = nullptr;
};

std::atomic<Unfinished::Entry*> Unfinished::newest = nullptr;

FileIdentity identity_of(const struct stat& status) { return {status.st_dev, status.st_ino}; }

Unfinished::Unfinished(std::string path) : entry_(new Entry) {
  entry_->path = std::move(path);
  entry_->older = newest.load();
  while (!newest.compare_exchange_weak(entry_->older, entry_)) {
  }
}

Unfinished::~Unfinished() {
  if (!entry_->live) return;
  remove_if_same(entry_->path.c_str(), entry_->identity);
  entry_->live = false;  // only now: otherwise a signal between the two would leave the file
}

const std::string& Unfinished::path() const { return entry_->path; }

void Unfinished::holds(FileIdentity identity) noexcept {
  entry_->identity = identity;
  entry_->live = true;
}

void Unfinished::keep() noexcept { entry_->live = false; }

Making::Making() : before_{} {
  sigset_t all;
  ::sigfillset(&all);
  ::pthread_sigmask(SIG_BLOCK, &all, &before_);
  ++being_made;
  if (!leaving) return;
  --being_made;
  for (;;) ::poll(nullptr, 0, -1);  // another thread is ending the process
}

Making::~Making() {
  --being_made;
  ::pthread_sigmask(SIG_SETMASK, &before_, nullptr);
}

void remove_unfinished() {
  leaving = true;
  for (int waited_ms = 0; being_made > 0 && waited_ms < kLongestWait_ms; ++waited_ms) ::poll(nullptr, 0, 1);
  for (Unfinished::Entry* entry = Unfinished::newest; entry != nullptr; entry = entry->older) {
    if (entry->live) remove_if_same(entry->path.c_str(), entry->identity);
  }
}

}  // namespace evenwall::internal::storage
