/* Loaded before the system's library: every call that changes a file is written down, in order, in the file RECORD_TO.
   One entry: the name of the call, two paths or "-", place and size, each ended by a line end, then the bytes written. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

static pthread_mutex_t turn = PTHREAD_MUTEX_INITIALIZER;
static int record = -1;

#define REAL(name, type, kinds) type(*real) kinds = (type(*) kinds)dlsym(RTLD_NEXT, #name)

static ssize_t put(const void *from, size_t size) {
    ssize_t (*real)(int, const void *, size_t) = (ssize_t(*)(int, const void *, size_t))dlsym(RTLD_NEXT, "write");
    return real(record, from, size);
}

static void note(const char *call, const char *one, const char *other, long place, const void *bytes, size_t size) {
    const char *to = getenv("RECORD_TO"), *below = getenv("RECORD_BELOW");
    char head[9000];
    if (!to || !below || strncmp(one, below, strlen(below))) return;
    pthread_mutex_lock(&turn);
    if (record < 0) record = open(to, O_WRONLY | O_CREAT | O_APPEND, 0600);
    put(head, snprintf(head, sizeof head, "%s\n%s\n%s\n%ld\n%zu\n", call, one, other, place, size));
    if (bytes) put(bytes, size);
    pthread_mutex_unlock(&turn);
}

static const char *name_of(int file, char *into) {
    char link[64];
    snprintf(link, sizeof link, "/proc/self/fd/%d", file);
    ssize_t size = readlink(link, into, 4000);
    into[size < 0 ? 0 : size] = 0;
    return into;
}

static const char *full(int folder, const char *file, char *into) {
    if (file[0] == '/') return file;
    char start[4100];
    if (folder == AT_FDCWD) getcwd(start, 4000);
    else name_of(folder, start);
    snprintf(into, 8300, "%s/%s", start, file);
    return into;
}

#define WRITE_AT(name)                                                                     \
    ssize_t name(int file, const void *from, size_t size, off_t place) {                   \
        REAL(name, ssize_t, (int, const void *, size_t, off_t));                           \
        char path[4100];                                                                   \
        ssize_t done = real(file, from, size, place);                                      \
        if (done > 0) note("write", name_of(file, path), "-", (long)place, from, done);    \
        return done;                                                                       \
    }
WRITE_AT(pwrite)
WRITE_AT(pwrite64)

ssize_t write(int file, const void *from, size_t size) {
    REAL(write, ssize_t, (int, const void *, size_t));
    char path[4100];
    long place = lseek(file, 0, SEEK_CUR);
    if (fcntl(file, F_GETFL) & O_APPEND) place = lseek(file, 0, SEEK_END);
    ssize_t done = real(file, from, size);
    if (done > 0 && place >= 0) note("write", name_of(file, path), "-", place, from, done);
    return done;
}

static ssize_t copied(int to, int from, long from_place, long place, ssize_t done) {
    char path[4100];
    char *bytes = done > 0 ? malloc(done) : NULL;
    if (bytes && pread(from, bytes, done, from_place) == done) note("write", name_of(to, path), "-", place, bytes, done);
    free(bytes);
    return done;
}

#define SEND(name)                                                                              \
    ssize_t name(int to, int from, off_t *at, size_t size) {                                    \
        REAL(name, ssize_t, (int, int, off_t *, size_t));                                       \
        long from_place = at ? *at : lseek(from, 0, SEEK_CUR), place = lseek(to, 0, SEEK_CUR);  \
        return copied(to, from, from_place, place, real(to, from, at, size));                   \
    }
SEND(sendfile)
SEND(sendfile64)

#define ON_A_FILE(name, call, kinds, names, place)                 \
    int name kinds {                                               \
        REAL(name, int, kinds);                                    \
        char path[4100];                                           \
        int done = real names;                                     \
        if (!done) note(call, name_of(file, path), "-", place, NULL, 0); \
        return done;                                               \
    }
ON_A_FILE(fsync, "sync", (int file), (file), 0)
ON_A_FILE(fdatasync, "sync", (int file), (file), 0)
ON_A_FILE(ftruncate, "size", (int file, off_t size), (file, size), (long)size)
ON_A_FILE(ftruncate64, "size", (int file, off_t size), (file, size), (long)size)

#define ON_A_PATH(name, call, kinds, names, folder)                        \
    int name kinds {                                                       \
        REAL(name, int, kinds);                                            \
        char path[8300];                                                   \
        int done = real names;                                             \
        if (!done) note(call, full(folder, file, path), "-", 0, NULL, 0);  \
        return done;                                                       \
    }
ON_A_PATH(unlink, "unlink", (const char *file), (file), AT_FDCWD)
ON_A_PATH(unlinkat, "unlink", (int folder, const char *file, int flags), (folder, file, flags), folder)
ON_A_PATH(remove, "unlink", (const char *file), (file), AT_FDCWD)
ON_A_PATH(rmdir, "unlink", (const char *file), (file), AT_FDCWD)
ON_A_PATH(mkdir, "mkdir", (const char *file, mode_t mode), (file, mode), AT_FDCWD)

int rename(const char *from, const char *to) {
    REAL(rename, int, (const char *, const char *));
    char one[8300], other[8300];
    int done = real(from, to);
    if (!done) note("rename", full(AT_FDCWD, from, one), full(AT_FDCWD, to, other), 0, NULL, 0);
    return done;
}

#define OPEN(name)                                                                                 \
    int name(const char *file, int flags, ...) {                                                   \
        REAL(name, int, (const char *, int, ...));                                                 \
        __builtin_va_list more;                                                                    \
        __builtin_va_start(more, flags);                                                           \
        mode_t mode = flags & O_CREAT ? __builtin_va_arg(more, int) : 0;                           \
        __builtin_va_end(more);                                                                    \
        char path[8300];                                                                           \
        int was_there = access(file, F_OK) == 0, done = real(file, flags, mode);                   \
        if (done >= 0 && !was_there) note("create", full(AT_FDCWD, file, path), "-", 0, NULL, 0);  \
        if (done >= 0 && was_there && flags & O_TRUNC) note("size", full(AT_FDCWD, file, path), "-", 0, NULL, 0); \
        return done;                                                                               \
    }
OPEN(open)
OPEN(open64)
