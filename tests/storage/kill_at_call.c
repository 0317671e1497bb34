/* Loaded before the system's library: the process kills itself at the n-th call that changes a file (KILL_AT), a write
   when half of it is done, and everything else just before. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/types.h>
#include <unistd.h>

static int calls;

static int is_last(void) {
    const char *which = getenv("KILL_AT");
    return which && ++calls == atoi(which);
}

static void end(void) { kill(getpid(), SIGKILL); }

#define WRITE_AT(name)                                                           \
    ssize_t name(int file, const void *from, size_t size, off_t place) {        \
        ssize_t (*real)(int, const void *, size_t, off_t) = dlsym(RTLD_NEXT, #name); \
        if (is_last()) {                                                         \
            real(file, from, size / 2, place);                                   \
            end();                                                               \
        }                                                                        \
        return real(file, from, size, place);                                    \
    }
WRITE_AT(pwrite)
WRITE_AT(pwrite64)

ssize_t write(int file, const void *from, size_t size) {
    ssize_t (*real)(int, const void *, size_t) = dlsym(RTLD_NEXT, "write");
    if (file > 2 && is_last()) {
        real(file, from, size / 2);
        end();
    }
    return real(file, from, size);
}

#define BEFORE(name, kinds, names)                     \
    int name kinds {                                   \
        int(*real) kinds = dlsym(RTLD_NEXT, #name);    \
        if (is_last()) end();                          \
        return real names;                             \
    }
BEFORE(rename, (const char *from, const char *to), (from, to))
BEFORE(unlink, (const char *file), (file))
BEFORE(unlinkat, (int folder, const char *file, int flags), (folder, file, flags))
BEFORE(rmdir, (const char *folder), (folder))
BEFORE(mkdir, (const char *folder, mode_t mode), (folder, mode))
BEFORE(fsync, (int file), (file))
BEFORE(fdatasync, (int file), (file))
BEFORE(ftruncate, (int file, off_t size), (file, size))
BEFORE(ftruncate64, (int file, off_t size), (file, size))
