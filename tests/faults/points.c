/* Counts the calls by which a program changes a disk; at a chosen one it dies, or the disk is full from there on.
   Loaded before the C library (LD_PRELOAD); armed by the harness in a forked child. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <signal.h>
#include <stdio.h>
#include <sys/types.h>
#include <unistd.h>

enum { OFF, KILL, TORN, FULL };
static int mode = OFF;
static long at = 0, count = 0;
static void (*before_death)(void) = 0;

void points_arm(int how, long point, void (*hook)(void)) { mode = how; at = point; before_death = hook; count = 0; }
long points_count(void) { return count; }

static void die(void) {
  mode = OFF;
  if (before_death) before_death();
  kill(getpid(), SIGKILL);
  pause();
}

/* 1: the call is to fail as on a full disk. A write may be torn: half of it is done, then the program dies. */
static int point(int is_write) {
  if (mode == OFF) return 0;
  count++;
  if (mode == FULL) return is_write && count >= at;
  if (count == at && !(mode == TORN && is_write)) die();
  return 0;
}
static int torn(void) { return mode == TORN && count == at; }

#define REAL(name) ((typeof(&name))dlsym(RTLD_NEXT, #name))
#define FAIL_IF_FULL(is_write) if (point(is_write)) { errno = ENOSPC; return -1; }

ssize_t write(int fd, const void *data, size_t size) {
  if (fd <= 2) return REAL(write)(fd, data, size);
  FAIL_IF_FULL(1)
  if (torn()) { if (REAL(write)(fd, data, size / 2)) {} die(); }
  return REAL(write)(fd, data, size);
}
ssize_t pwrite(int fd, const void *data, size_t size, off_t where) {
  FAIL_IF_FULL(1)
  if (torn()) { if (REAL(pwrite)(fd, data, size / 2, where)) {} die(); }
  return REAL(pwrite)(fd, data, size, where);
}
ssize_t pwrite64(int fd, const void *data, size_t size, off64_t where) {
  FAIL_IF_FULL(1)
  if (torn()) { if (REAL(pwrite64)(fd, data, size / 2, where)) {} die(); }
  return REAL(pwrite64)(fd, data, size, where);
}
int fsync(int fd) { FAIL_IF_FULL(0) return REAL(fsync)(fd); }
int fdatasync(int fd) { FAIL_IF_FULL(0) return REAL(fdatasync)(fd); }
int ftruncate(int fd, off_t size) { FAIL_IF_FULL(0) return REAL(ftruncate)(fd, size); }
int ftruncate64(int fd, off64_t size) { FAIL_IF_FULL(0) return REAL(ftruncate64)(fd, size); }
int rename(const char *from, const char *to) { FAIL_IF_FULL(0) return REAL(rename)(from, to); }
int unlink(const char *path) { FAIL_IF_FULL(0) return REAL(unlink)(path); }
