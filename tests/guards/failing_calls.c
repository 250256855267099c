/* Stands before the system's own calls, counts those on files of a store, and lets the N-th fail, once or from then on. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <sys/types.h>
#include <unistd.h>

enum { WRITE, SYNC, RENAME };
static int armed = -1, fail_at, fail_once, met;

void arm(int call, int at, int once) { armed = call; fail_at = at; fail_once = once; met = 0; }
int disarm(void) { armed = -1; return met; }

static int is_ours(const char *path) { return path && (strstr(path, "own.duckdb") || strstr(path, "saved")); }

static int fails(int call, const char *path) {
  if (call != armed || !is_ours(path)) return 0;
  met++;
  return fail_at && (fail_once ? met == fail_at : met >= fail_at);
}

static int fails_on(int call, int fd) {
  char link[64], path[4096];
  if (call != armed) return 0;
  snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
  ssize_t length = readlink(link, path, sizeof path - 1);
  if (length < 0) return 0;
  path[length] = 0;
  return fails(call, path);
}

#define NEXT(type, name) ((type)dlsym(RTLD_NEXT, name))
ssize_t pwrite(int fd, const void *b, size_t n, off_t o) {
  if (fails_on(WRITE, fd)) { errno = ENOSPC; return -1; }
  return NEXT(ssize_t(*)(int, const void *, size_t, off_t), "pwrite")(fd, b, n, o);
}
ssize_t pwrite64(int fd, const void *b, size_t n, off_t o) {
  if (fails_on(WRITE, fd)) { errno = ENOSPC; return -1; }
  return NEXT(ssize_t(*)(int, const void *, size_t, off_t), "pwrite64")(fd, b, n, o);
}
ssize_t write(int fd, const void *b, size_t n) {
  if (fails_on(WRITE, fd)) { errno = ENOSPC; return -1; }
  return NEXT(ssize_t(*)(int, const void *, size_t), "write")(fd, b, n);
}
int fsync(int fd) {
  if (fails_on(SYNC, fd)) { errno = EIO; return -1; }
  return NEXT(int (*)(int), "fsync")(fd);
}
int fdatasync(int fd) {
  if (fails_on(SYNC, fd)) { errno = EIO; return -1; }
  return NEXT(int (*)(int), "fdatasync")(fd);
}
int rename(const char *from, const char *to) {
  if (fails(RENAME, to)) { errno = EIO; return -1; }
  return NEXT(int (*)(const char *, const char *), "rename")(from, to);
}
int link(const char *from, const char *to) {
  if (fails(RENAME, to)) { errno = EIO; return -1; }
  return NEXT(int (*)(const char *, const char *), "link")(from, to);
}
