/* A disk that forgets at a power cut: what was not synced is not there afterwards.
 *
 * Preloaded into a browser. Each fsync and fdatasync of a file under $CUT_FROM copies it, as it is at that moment, to
 * $CUT_TO; a rename or an unlink is followed there. Whatever lies in $CUT_TO is what the disk would hold after the cut.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static int shadow_of(const char *path, char *out) {
  const char *from = getenv("CUT_FROM"), *to = getenv("CUT_TO");
  if (!from || !to || strncmp(path, from, strlen(from)) != 0) return 0;
  return snprintf(out, PATH_MAX, "%s%s", to, path + strlen(from)) < PATH_MAX;
}

static void make_parents(const char *path) {
  char part[PATH_MAX];
  for (const char *at = strchr(path + 1, '/'); at; at = strchr(at + 1, '/')) {
    memcpy(part, path, at - path);
    part[at - path] = 0;
    mkdir(part, 0700);
  }
}

/* Into another name first: the cut may come in the middle of the copy. */
static void keep(int fd) {
  char link[64], path[PATH_MAX], shadow[PATH_MAX], fresh[PATH_MAX + 8], buffer[65536];
  snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
  ssize_t length = readlink(link, path, sizeof path - 1);
  if (length < 0) return;
  path[length] = 0;
  struct stat about;
  if (!shadow_of(path, shadow) || fstat(fd, &about) != 0 || !S_ISREG(about.st_mode)) return;
  make_parents(shadow);
  snprintf(fresh, sizeof fresh, "%s.cut", shadow);
  int in = open(path, O_RDONLY), out = open(fresh, O_WRONLY | O_CREAT | O_TRUNC, 0600);
  for (ssize_t n; in >= 0 && out >= 0 && (n = read(in, buffer, sizeof buffer)) > 0;)
    if (write(out, buffer, n) != n) break;
  if (in >= 0) close(in);
  if (out >= 0) close(out);
  ((int (*)(const char *, const char *))dlsym(RTLD_NEXT, "rename"))(fresh, shadow);
}

int fsync(int fd) {
  int done = ((int (*)(int))dlsym(RTLD_NEXT, "fsync"))(fd), kept = errno;
  if (done == 0) keep(fd);
  errno = kept;
  return done;
}

int fdatasync(int fd) {
  int done = ((int (*)(int))dlsym(RTLD_NEXT, "fdatasync"))(fd), kept = errno;
  if (done == 0) keep(fd);
  errno = kept;
  return done;
}

int rename(const char *from, const char *to) {
  int (*real)(const char *, const char *) = (int (*)(const char *, const char *))dlsym(RTLD_NEXT, "rename");
  char old[PATH_MAX], fresh[PATH_MAX];
  int done = real(from, to), kept = errno;
  if (done == 0 && shadow_of(from, old) && shadow_of(to, fresh)) real(old, fresh);
  errno = kept;
  return done;
}

int unlink(const char *path) {
  int (*real)(const char *) = (int (*)(const char *))dlsym(RTLD_NEXT, "unlink");
  char shadow[PATH_MAX];
  int done = real(path), kept = errno;
  if (done == 0 && shadow_of(path, shadow)) real(shadow);
  errno = kept;
  return done;
}
