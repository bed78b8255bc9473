/* Counts every call that changes what lies below one folder, over a whole family of
 * processes, and makes the k-th one go wrong.
 *
 * Loaded by LD_PRELOAD. FAULT_SHARED names a file that all processes map: the words
 * of it are laid out in `enum` below and in library.py. FAULT_ROOT is the folder,
 * FAULT_KIND and FAULT_AT say what happens at which call, FAULT_ERRNO the error.
 *
 * Not seen: what the C library writes for its own streams when it flushes them
 * (the opening of such a stream is), memory-mapped writes, and raw system calls.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/time.h>
#include <sys/uio.h>
#include <unistd.h>
#include <utime.h>

enum { CALLS = 0, FIRED = 1, PIDS = 2, UNSAFE = 3, PID = 16, OP = 1024, INODE = 8192 };
enum { MOST_PIDS = 512, MOST_OPS = 4096, MOST_INODES = 4096, WORDS = 32768 };
enum { COUNT, KILL_BEFORE, KILL_AFTER, TORN, FAIL_ONCE, FAIL_ON, SHORT, NO_LINKS };

static volatile int64_t *words;
static char root[4096];
static size_t root_length;
static int kind, fault_errno;
static int64_t at;
static volatile ssize_t torn;

#define REAL(name) ((__typeof__(&name))real(#name))

static void *real(const char *name)
{
    void *found = dlsym(RTLD_NEXT, name);
    if (!found) {
        static const char said[] = "counting: a function of the C library is missing\n";
        syscall(SYS_write, 2, said, sizeof said - 1);
        syscall(SYS_exit_group, 99);
    }
    return found;
}

/* Also called by name, by a process that was loaded before it knew its fault. */
__attribute__((constructor)) void begin_counting(void)
{
    const char *shared = getenv("FAULT_SHARED"), *below = getenv("FAULT_ROOT");
    if (!shared || !below || strlen(below) >= sizeof root)
        return;
    int handle = (int)syscall(SYS_openat, AT_FDCWD, shared, O_RDWR | O_CLOEXEC);
    if (handle < 0)
        return;
    void *map = mmap(0, WORDS * sizeof *words, PROT_READ | PROT_WRITE, MAP_SHARED, handle, 0);
    close(handle);
    if (map == MAP_FAILED)
        return;
    strcpy(root, below);
    root_length = strlen(root);
    kind = atoi(getenv("FAULT_KIND"));
    at = atoll(getenv("FAULT_AT"));
    fault_errno = atoi(getenv("FAULT_ERRNO"));
    words = map;
    int64_t number = __sync_fetch_and_add(&words[PIDS], 1);
    if (number < MOST_PIDS)
        words[PID + number] = getpid();
}

static int starts_in_root(const char *path)
{
    return !strncmp(path, root, root_length) && (path[root_length] == '/' || !path[root_length]);
}

static int handle_below(int handle)
{
    char link[64], path[4096];
    if (!words || handle < 0)
        return 0;
    snprintf(link, sizeof link, "/proc/self/fd/%d", handle);
    ssize_t length = syscall(SYS_readlinkat, AT_FDCWD, link, path, sizeof path - 1);
    if (length < 0)
        return 0;
    path[length] = 0;
    return starts_in_root(path);
}

static int path_below(int folder, const char *path)
{
    char here[4096];
    if (!words || !path)
        return 0;
    if (path[0] == '/')
        return starts_in_root(path);
    if (folder != AT_FDCWD)
        return handle_below(folder);
    return syscall(SYS_getcwd, here, sizeof here) > 0 && starts_in_root(here);
}

static void die(void)
{
    words[FIRED] = 1;
    kill(0, SIGKILL);
    for (;;)
        pause();
}

/* The number of this call, or -1 with errno set where it is to fail. */
static int64_t enter(char op)
{
    int64_t number = __sync_add_and_fetch(&words[CALLS], 1);
    if (number <= MOST_OPS)
        words[OP + number - 1] = op;
    if (kind == NO_LINKS && op == 'l') {
        if (number == at)
            die();
        errno = EPERM;
        return -1;
    }
    if (number == at && (kind == KILL_BEFORE || kind == NO_LINKS || (kind == TORN && op != 'w')))
        die();
    if ((kind == FAIL_ONCE && number == at) || (kind == FAIL_ON && at && number >= at)) {
        words[FIRED] = 1;
        errno = fault_errno;
        return -1;
    }
    return number;
}

static void leave(int64_t number)
{
    if (number == at && kind == KILL_AFTER)
        die();
}

/* Remember whether a file holds bytes that were never flushed. */
static void note(int handle, int unsafe)
{
    struct stat status;
    int before = errno;
    if (!fstat(handle, &status) && S_ISREG(status.st_mode)) {
        int64_t count = words[UNSAFE], i = 0;
        while (i < count && words[INODE + 2 * i] != (int64_t)status.st_ino)
            i++;
        if (i < MOST_INODES && (i < count || unsafe)) {
            words[INODE + 2 * i] = (int64_t)status.st_ino;
            words[INODE + 2 * i + 1] = unsafe;
            if (i == count)
                words[UNSAFE] = count + 1;
        }
    }
    errno = before;
}

#define CHANGE(op, below, call)               \
    do {                                      \
        if (!(below))                         \
            return call;                      \
        int64_t number = enter(op);           \
        if (number < 0)                       \
            return -1;                        \
        int result = call;                    \
        leave(number);                        \
        return result;                        \
    } while (0)

static int changes(int flags)
{
    return (flags & O_ACCMODE) != O_RDONLY || (flags & (O_CREAT | O_TRUNC));
}

static int opened(int64_t number, int handle, int flags)
{
    if (handle >= 0 && (flags & O_TRUNC))
        note(handle, 1);
    leave(number);
    return handle;
}

#define OPEN(name)                                                 \
    int name(const char *path, int flags, ...)                     \
    {                                                              \
        va_list rest;                                              \
        va_start(rest, flags);                                     \
        mode_t mode = va_arg(rest, mode_t);                        \
        va_end(rest);                                              \
        if (!changes(flags) || !path_below(AT_FDCWD, path))        \
            return REAL(name)(path, flags, mode);                  \
        int64_t number = enter('o');                               \
        if (number < 0)                                            \
            return -1;                                             \
        return opened(number, REAL(name)(path, flags, mode), flags); \
    }
OPEN(open)
OPEN(open64)

#define OPENAT(name)                                                       \
    int name(int folder, const char *path, int flags, ...)                 \
    {                                                                      \
        va_list rest;                                                      \
        va_start(rest, flags);                                             \
        mode_t mode = va_arg(rest, mode_t);                                \
        va_end(rest);                                                      \
        if (!changes(flags) || !path_below(folder, path))                  \
            return REAL(name)(folder, path, flags, mode);                  \
        int64_t number = enter('o');                                       \
        if (number < 0)                                                    \
            return -1;                                                     \
        return opened(number, REAL(name)(folder, path, flags, mode), flags); \
    }
OPENAT(openat)
OPENAT(openat64)

int __open_2(const char *path, int flags) { return open(path, flags); }
int __open64_2(const char *path, int flags) { return open64(path, flags); }
int __openat_2(int folder, const char *path, int flags) { return openat(folder, path, flags); }
int __openat64_2(int folder, const char *path, int flags) { return openat64(folder, path, flags); }
int creat(const char *path, mode_t mode) { return open(path, O_CREAT | O_WRONLY | O_TRUNC, mode); }
int creat64(const char *path, mode_t mode) { return open64(path, O_CREAT | O_WRONLY | O_TRUNC, mode); }

#define MAKE_TEMPORARY(name, parameters, arguments)   \
    int name parameters                               \
    {                                                 \
        if (!path_below(AT_FDCWD, form))              \
            return REAL(name) arguments;              \
        int64_t number = enter('o');                  \
        if (number < 0)                               \
            return -1;                                \
        return opened(number, REAL(name) arguments, 0); \
    }
MAKE_TEMPORARY(mkstemp, (char *form), (form))
MAKE_TEMPORARY(mkstemp64, (char *form), (form))
MAKE_TEMPORARY(mkstemps, (char *form, int end), (form, end))
MAKE_TEMPORARY(mkstemps64, (char *form, int end), (form, end))
MAKE_TEMPORARY(mkostemp, (char *form, int flags), (form, flags))
MAKE_TEMPORARY(mkostemp64, (char *form, int flags), (form, flags))

#define STREAM(name)                                                \
    FILE *name(const char *path, const char *mode)                  \
    {                                                               \
        if (!strpbrk(mode, "wa+") || !path_below(AT_FDCWD, path))   \
            return REAL(name)(path, mode);                          \
        int64_t number = enter('o');                                \
        if (number < 0)                                             \
            return 0;                                               \
        FILE *stream = REAL(name)(path, mode);                      \
        if (stream)                                                 \
            note(fileno(stream), 1);                                \
        leave(number);                                              \
        return stream;                                              \
    }
STREAM(fopen)
STREAM(fopen64)

/* A write of which only half may arrive: `half` writes it, `whole` all of it. */
#define WRITE(handle, length, whole, half)                          \
    do {                                                            \
        if (!handle_below(handle))                                  \
            return whole;                                           \
        int64_t number = enter('w');                                \
        if (number < 0)                                             \
            return -1;                                              \
        note(handle, 1);                                            \
        if (number == at && kind == TORN) {                         \
            torn = half;                                            \
            die();                                                  \
        }                                                           \
        if (number == at && kind == SHORT && (length) > 1) {        \
            words[FIRED] = 1;                                       \
            return half;                                            \
        }                                                           \
        ssize_t result = whole;                                     \
        leave(number);                                              \
        return result;                                              \
    } while (0)

ssize_t write(int handle, const void *data, size_t length)
{
    WRITE(handle, length, REAL(write)(handle, data, length), REAL(write)(handle, data, length / 2));
}

ssize_t pwrite(int handle, const void *data, size_t length, off_t where)
{
    WRITE(handle, length, REAL(pwrite)(handle, data, length, where),
          REAL(pwrite)(handle, data, length / 2, where));
}

ssize_t pwrite64(int handle, const void *data, size_t length, off64_t where)
{
    WRITE(handle, length, REAL(pwrite64)(handle, data, length, where),
          REAL(pwrite64)(handle, data, length / 2, where));
}

ssize_t writev(int handle, const struct iovec *parts, int count)
{
    WRITE(handle, parts[0].iov_len, REAL(writev)(handle, parts, count),
          REAL(write)(handle, parts[0].iov_base, parts[0].iov_len / 2));
}

#define FLUSH(name)                       \
    int name(int handle)                  \
    {                                     \
        if (!handle_below(handle))        \
            return REAL(name)(handle);    \
        int64_t number = enter('s');      \
        if (number < 0)                   \
            return -1;                    \
        int result = REAL(name)(handle);  \
        if (!result)                      \
            note(handle, 0);              \
        leave(number);                    \
        return result;                    \
    }
FLUSH(fsync)
FLUSH(fdatasync)

/* It cannot fail; where it is to, nothing is flushed. */
void sync(void)
{
    if (!words) {
        REAL(sync)();
        return;
    }
    int64_t number = enter('s');
    if (number < 0)
        return;
    REAL(sync)();
    for (int64_t i = 0; i < words[UNSAFE]; i++)
        words[INODE + 2 * i + 1] = 0;
    leave(number);
}

#define CUT(name, offset)                            \
    int name(int handle, offset length)              \
    {                                                \
        if (!handle_below(handle))                   \
            return REAL(name)(handle, length);       \
        int64_t number = enter('t');                 \
        if (number < 0)                              \
            return -1;                               \
        int result = REAL(name)(handle, length);     \
        note(handle, 1);                             \
        leave(number);                               \
        return result;                               \
    }
CUT(ftruncate, off_t)
CUT(ftruncate64, off64_t)

int rename(const char *old, const char *new)
{
    CHANGE('r', path_below(AT_FDCWD, old) || path_below(AT_FDCWD, new), REAL(rename)(old, new));
}
int renameat(int from, const char *old, int to, const char *new)
{
    CHANGE('r', path_below(from, old) || path_below(to, new), REAL(renameat)(from, old, to, new));
}
int renameat2(int from, const char *old, int to, const char *new, unsigned flags)
{
    CHANGE('r', path_below(from, old) || path_below(to, new),
           REAL(renameat2)(from, old, to, new, flags));
}
int link(const char *old, const char *new)
{
    CHANGE('l', path_below(AT_FDCWD, new), REAL(link)(old, new));
}
int linkat(int from, const char *old, int to, const char *new, int flags)
{
    CHANGE('l', path_below(to, new), REAL(linkat)(from, old, to, new, flags));
}
int symlink(const char *target, const char *path)
{
    CHANGE('y', path_below(AT_FDCWD, path), REAL(symlink)(target, path));
}
int symlinkat(const char *target, int folder, const char *path)
{
    CHANGE('y', path_below(folder, path), REAL(symlinkat)(target, folder, path));
}
int unlink(const char *path) { CHANGE('u', path_below(AT_FDCWD, path), REAL(unlink)(path)); }
int unlinkat(int folder, const char *path, int flags)
{
    CHANGE('u', path_below(folder, path), REAL(unlinkat)(folder, path, flags));
}
int remove(const char *path) { CHANGE('u', path_below(AT_FDCWD, path), REAL(remove)(path)); }
int rmdir(const char *path) { CHANGE('u', path_below(AT_FDCWD, path), REAL(rmdir)(path)); }
int mkdir(const char *path, mode_t mode)
{
    CHANGE('d', path_below(AT_FDCWD, path), REAL(mkdir)(path, mode));
}
int mkdirat(int folder, const char *path, mode_t mode)
{
    CHANGE('d', path_below(folder, path), REAL(mkdirat)(folder, path, mode));
}
int chmod(const char *path, mode_t mode)
{
    CHANGE('m', path_below(AT_FDCWD, path), REAL(chmod)(path, mode));
}
int fchmod(int handle, mode_t mode) { CHANGE('m', handle_below(handle), REAL(fchmod)(handle, mode)); }
int fchmodat(int folder, const char *path, mode_t mode, int flags)
{
    CHANGE('m', path_below(folder, path), REAL(fchmodat)(folder, path, mode, flags));
}
int utime(const char *path, const struct utimbuf *times)
{
    CHANGE('m', path_below(AT_FDCWD, path), REAL(utime)(path, times));
}
int utimes(const char *path, const struct timeval times[2])
{
    CHANGE('m', path_below(AT_FDCWD, path), REAL(utimes)(path, times));
}
int utimensat(int folder, const char *path, const struct timespec times[2], int flags)
{
    CHANGE('m', path_below(folder, path), REAL(utimensat)(folder, path, times, flags));
}
int futimens(int handle, const struct timespec times[2])
{
    CHANGE('m', handle_below(handle), REAL(futimens)(handle, times));
}
