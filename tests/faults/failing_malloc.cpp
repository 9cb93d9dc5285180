// SPDX-License-Identifier: GPL-3.0-or-later
// Replaces malloc by LD_PRELOAD: the n-th allocation fails (FAIL_AT=n), or all from the n-th on (FAIL_FROM=n). At the end it writes the
// count to the file that FAIL_COUNT names. Counting begins with the initialisers of this library, after the loader's own allocations.
#include <fcntl.h>
#include <unistd.h>

#include <atomic>
#include <cerrno>
#include <cstdio>
#include <cstdlib>

extern "C" {

void* __libc_malloc(std::size_t);
void* __libc_calloc(std::size_t, std::size_t);
void* __libc_realloc(void*, std::size_t);
void* __libc_memalign(std::size_t, std::size_t);

static std::atomic<long> seen;
static long fail_at = 0;
static long fail_from = 0;
static int count_file = -1;  // opened at the start, because later the program is not allowed to make files

__attribute__((constructor)) static void read_orders() {
  const char* at = std::getenv("FAIL_AT");
  const char* from = std::getenv("FAIL_FROM");
  fail_at = at != nullptr ? std::atol(at) : 0;
  fail_from = from != nullptr ? std::atol(from) : 0;
  const char* path = std::getenv("FAIL_COUNT");
  if (path != nullptr && (count_file = ::open(path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0666)) < 0) ::_exit(99);
  seen = 0;
}

__attribute__((destructor)) static void tell() {
  if (count_file < 0) return;
  char text[32];
  const int length = std::snprintf(text, sizeof text, "%ld\n", seen.load());
  if (::write(count_file, text, static_cast<std::size_t>(length)) != length) ::_exit(99);
  ::close(count_file);
}

static bool fails() {
  const long n = ++seen;
  if (n != fail_at && (fail_from == 0 || n < fail_from)) return false;
  errno = ENOMEM;
  return true;
}

void* malloc(std::size_t size) { return fails() ? nullptr : __libc_malloc(size); }
void* calloc(std::size_t count, std::size_t size) { return fails() ? nullptr : __libc_calloc(count, size); }
void* realloc(void* old, std::size_t size) { return fails() ? nullptr : __libc_realloc(old, size); }
void* memalign(std::size_t align, std::size_t size) { return fails() ? nullptr : __libc_memalign(align, size); }
void* aligned_alloc(std::size_t align, std::size_t size) { return memalign(align, size); }
int posix_memalign(void** out, std::size_t align, std::size_t size) {
  void* block = memalign(align, size);
  if (block == nullptr) return ENOMEM;
  *out = block;
  return 0;
}

}  // extern "C"
