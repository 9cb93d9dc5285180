/* LD_PRELOAD: the n-th allocation fails (FAIL_AT=n), or all from the n-th on (FAIL_FROM=n); at the end the count goes to FAIL_COUNT.
   Counted from the start of main's library initialisers: what the loader allocates for itself comes before. */
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

extern void* __libc_malloc(size_t);
extern void* __libc_calloc(size_t, size_t);
extern void* __libc_realloc(void*, size_t);
extern void* __libc_memalign(size_t, size_t);

static atomic_long seen;
static long fail_at, fail_from;

__attribute__((constructor)) static void read_orders(void) {
  const char* at = getenv("FAIL_AT");
  const char* from = getenv("FAIL_FROM");
  fail_at = at ? atol(at) : 0;
  fail_from = from ? atol(from) : 0;
  seen = 0;
}

__attribute__((destructor)) static void tell(void) {
  const char* path = getenv("FAIL_COUNT");
  if (!path) return;
  char text[32];
  const int length = snprintf(text, sizeof text, "%ld\n", seen);
  const int file = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0666);
  if (file < 0) return;
  if (write(file, text, (size_t)length) != length) _exit(99);
  close(file);
}

static int fails(void) {
  const long n = ++seen;
  if (n != fail_at && (fail_from == 0 || n < fail_from)) return 0;
  errno = ENOMEM;
  return 1;
}

void* malloc(size_t size) { return fails() ? NULL : __libc_malloc(size); }
void* calloc(size_t count, size_t size) { return fails() ? NULL : __libc_calloc(count, size); }
void* realloc(void* old, size_t size) { return fails() ? NULL : __libc_realloc(old, size); }
void* memalign(size_t align, size_t size) { return fails() ? NULL : __libc_memalign(align, size); }
void* aligned_alloc(size_t align, size_t size) { return memalign(align, size); }
int posix_memalign(void** out, size_t align, size_t size) {
  void* block = memalign(align, size);
  if (!block) return ENOMEM;
  *out = block;
  return 0;
}
