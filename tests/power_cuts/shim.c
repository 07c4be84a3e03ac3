/*
 * Logs what a process does to the files of one folder, in order, and each answer "201 Created" that it sends.
 *
 * Loaded by LD_PRELOAD. RECORD_FOLDER is the folder, RECORD_LOG the file to append to. Operation and record are under
 * one lock, so that the order of the records is that of the operations. RECORD_FAIL, a file outside the folder, makes
 * the next sync fail with EIO, and is removed by that; the bytes are then only in memory, as after a failed write-back.
 *
 * A record: kind (1 byte), inode (8), offset (8), length (4), then so many bytes of data or name, little-endian.
 *   C created  T truncated to offset  W written  S synced  F failed to sync  D folder synced
 *   U unlinked  R renamed (old NUL new)  A answered  X something that is not modelled
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/socket.h>
#include <sys/stat.h>
#include <sys/uio.h>
#include <unistd.h>

#define FILES 4096
#define REAL(name, type, ...) static type (*real)(__VA_ARGS__); if (!real) real = dlsym(RTLD_NEXT, name)

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static uint64_t inode_of[FILES]; /* by descriptor, 0 where the file is outside the folder */
static char is_folder[FILES];
static int log_fd = -1;
static const char *folder;
static size_t folder_length;

static ssize_t real_write(int fd, const void *data, size_t length)
{
    REAL("write", ssize_t, int, const void *, size_t);
    return real(fd, data, length);
}

static int real_open(const char *path, int flags, mode_t mode)
{
    REAL("open64", int, const char *, int, ...);
    return real(path, flags, mode);
}

__attribute__((constructor)) static void begin(void)
{
    folder = getenv("RECORD_FOLDER");
    const char *log = getenv("RECORD_LOG");
    if (!folder || !log)
        return;
    folder_length = strlen(folder);
    log_fd = real_open(log, O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC, 0600);
}

static void record(char kind, uint64_t inode, uint64_t offset, const void *data, uint32_t length)
{
    char head[21];
    head[0] = kind;
    memcpy(head + 1, &inode, 8);
    memcpy(head + 9, &offset, 8);
    memcpy(head + 17, &length, 4);
    char *whole = malloc(sizeof head + length);
    memcpy(whole, head, sizeof head);
    memcpy(whole + sizeof head, data, length);
    if (real_write(log_fd, whole, sizeof head + length) != (ssize_t)(sizeof head + length))
        abort();
    free(whole);
}

static void record_name(char kind, uint64_t inode, const char *name)
{
    record(kind, inode, 0, name, strlen(name));
}

static int inside(const char *path)
{
    return log_fd >= 0 && path && !strncmp(path, folder, folder_length)
        && (path[folder_length] == '/' || !path[folder_length]);
}

static int tracked(int fd)
{
    return log_fd >= 0 && fd >= 0 && fd < FILES && inode_of[fd] != 0;
}

static int open_file(const char *path, int flags, mode_t mode)
{
    if (!inside(path))
        return real_open(path, flags, mode);
    pthread_mutex_lock(&lock);
    int is_new = (flags & O_CREAT) && access(path, F_OK) != 0;
    int fd = real_open(path, flags, mode);
    int fault = errno;
    struct stat found;
    if (fd >= FILES)
        record_name('X', 0, "too many files");
    else if (fd >= 0 && fstat(fd, &found) == 0) {
        inode_of[fd] = found.st_ino;
        is_folder[fd] = S_ISDIR(found.st_mode);
        if (is_new)
            record_name('C', found.st_ino, path);
        else if ((flags & O_TRUNC) && !is_folder[fd])
            record('T', found.st_ino, 0, "", 0);
    }
    pthread_mutex_unlock(&lock);
    errno = fault;
    return fd;
}

#define OPEN(name)                                                  \
    int name(const char *path, int flags, ...)                      \
    {                                                               \
        va_list more;                                               \
        va_start(more, flags);                                      \
        mode_t mode = flags & O_CREAT ? va_arg(more, mode_t) : 0;   \
        va_end(more);                                               \
        return open_file(path, flags, mode);                        \
    }
OPEN(open)
OPEN(open64)

int openat64(int at, const char *path, int flags, ...)
{
    va_list more;
    va_start(more, flags);
    mode_t mode = flags & O_CREAT ? va_arg(more, mode_t) : 0;
    va_end(more);
    if (inside(path))
        return open_file(path, flags, mode);
    REAL("openat64", int, int, const char *, int, ...);
    return real(at, path, flags, mode);
}

int close(int fd)
{
    REAL("close", int, int);
    if (log_fd >= 0 && fd == log_fd)
        return 0;
    if (!tracked(fd))
        return real(fd);
    pthread_mutex_lock(&lock);
    inode_of[fd] = 0;
    int done = real(fd);
    pthread_mutex_unlock(&lock);
    return done;
}

static ssize_t written(int fd, const void *data, ssize_t done, off_t offset)
{
    int fault = errno;
    if (done > 0)
        record('W', inode_of[fd], offset, data, done);
    errno = fault;
    return done;
}

static ssize_t write_at(int fd, const void *data, size_t length, off_t offset)
{
    REAL("pwrite64", ssize_t, int, const void *, size_t, off_t);
    if (!tracked(fd))
        return real(fd, data, length, offset);
    pthread_mutex_lock(&lock);
    ssize_t done = written(fd, data, real(fd, data, length, offset), offset);
    pthread_mutex_unlock(&lock);
    return done;
}

ssize_t pwrite(int fd, const void *data, size_t length, off_t offset) { return write_at(fd, data, length, offset); }
ssize_t pwrite64(int fd, const void *data, size_t length, off_t offset) { return write_at(fd, data, length, offset); }

ssize_t write(int fd, const void *data, size_t length)
{
    if (!tracked(fd))
        return real_write(fd, data, length);
    pthread_mutex_lock(&lock);
    int append = fcntl(fd, F_GETFL) & O_APPEND;
    off_t offset = lseek(fd, 0, append ? SEEK_END : SEEK_CUR);
    ssize_t done = written(fd, data, real_write(fd, data, length), offset);
    pthread_mutex_unlock(&lock);
    return done;
}

ssize_t sendfile64(int to, int from, off_t *start, size_t length)
{
    REAL("sendfile64", ssize_t, int, int, off_t *, size_t);
    if (!tracked(to))
        return real(to, from, start, length);
    pthread_mutex_lock(&lock);
    off_t first = start ? *start : lseek(from, 0, SEEK_CUR), offset = lseek(to, 0, SEEK_CUR);
    ssize_t done = real(to, from, start, length);
    char *data = malloc(done > 0 ? done : 1);
    if (done > 0 && pread(from, data, done, first) != done)
        abort();
    written(to, data, done, offset);
    free(data);
    pthread_mutex_unlock(&lock);
    return done;
}

static int truncate_to(int fd, off_t size)
{
    REAL("ftruncate64", int, int, off_t);
    if (!tracked(fd))
        return real(fd, size);
    pthread_mutex_lock(&lock);
    int done = real(fd, size);
    if (done == 0)
        record('T', inode_of[fd], size, "", 0);
    pthread_mutex_unlock(&lock);
    return done;
}

int ftruncate(int fd, off_t size) { return truncate_to(fd, size); }
int ftruncate64(int fd, off_t size) { return truncate_to(fd, size); }

static int sync_file(int fd, const char *name)
{
    int (*real)(int) = (int (*)(int))dlsym(RTLD_NEXT, name);
    if (!tracked(fd))
        return real(fd);
    pthread_mutex_lock(&lock);
    const char *fail = getenv("RECORD_FAIL");
    int done = 0;
    if (fail && !is_folder[fd] && unlink(fail) == 0) {
        record('F', inode_of[fd], 0, "", 0);
        done = -1;
    } else if ((done = real(fd)) == 0)
        record(is_folder[fd] ? 'D' : 'S', inode_of[fd], 0, "", 0);
    pthread_mutex_unlock(&lock);
    if (done < 0)
        errno = EIO;
    return done;
}

int fsync(int fd) { return sync_file(fd, "fsync"); }
int fdatasync(int fd) { return sync_file(fd, "fdatasync"); }

int unlink(const char *path)
{
    REAL("unlink", int, const char *);
    if (!inside(path))
        return real(path);
    pthread_mutex_lock(&lock);
    int done = real(path);
    int fault = errno;
    if (done == 0)
        record_name('U', 0, path);
    pthread_mutex_unlock(&lock);
    errno = fault;
    return done;
}

int rename(const char *from, const char *to)
{
    REAL("rename", int, const char *, const char *);
    if (!inside(from) && !inside(to))
        return real(from, to);
    pthread_mutex_lock(&lock);
    int done = real(from, to);
    int fault = errno;
    if (done == 0) {
        char names[2 * PATH_MAX];
        int length = snprintf(names, sizeof names, "%s%c%s", from, 0, to);
        record('R', 0, 0, names, length);
    }
    pthread_mutex_unlock(&lock);
    errno = fault;
    return done;
}

ssize_t send(int fd, const void *data, size_t length, int flags)
{
    REAL("send", ssize_t, int, const void *, size_t, int);
    if (log_fd >= 0 && length > 12 && !memcmp(data, "HTTP/1.1 201", 12)) {
        pthread_mutex_lock(&lock);
        record('A', 0, 0, data, length);
        pthread_mutex_unlock(&lock);
    }
    return real(fd, data, length, flags);
}

/* What a database may do elsewhere, and nobody does here: it is recorded, so that no state is made without it. */

static void unknown(int fd, const char *name)
{
    if (!tracked(fd))
        return;
    pthread_mutex_lock(&lock);
    record_name('X', inode_of[fd], name);
    pthread_mutex_unlock(&lock);
}

ssize_t writev(int fd, const struct iovec *parts, int count)
{
    REAL("writev", ssize_t, int, const struct iovec *, int);
    unknown(fd, "writev");
    return real(fd, parts, count);
}

ssize_t copy_file_range(int from, off_t *start, int to, off_t *offset, size_t length, unsigned flags)
{
    REAL("copy_file_range", ssize_t, int, off_t *, int, off_t *, size_t, unsigned);
    unknown(to, "copy_file_range");
    return real(from, start, to, offset, length, flags);
}

int posix_fallocate64(int fd, off_t offset, off_t length)
{
    REAL("posix_fallocate64", int, int, off_t, off_t);
    unknown(fd, "posix_fallocate");
    return real(fd, offset, length);
}
