/*
 * A disk and a port that fail when a test says so, under the real program.
 *
 * Loaded before the C library (LD_PRELOAD) it stands between the program, SQLite in it, and the system: every call
 * that touches a file below FAULTS_UNDER, or the port FAULTS_PORT, is counted, and the test chooses the one that
 * fails, or after which the process is gone. What is done below FAULTS_UNDER is written down in FAULTS_JOURNAL, call
 * by call, so that a test can make every state that a power cut could leave behind.
 *
 * The test and the program share the page FAULTS_CONTROL. Calls go on to the library below by dlsym(RTLD_NEXT); the
 * journal is written by system calls of its own, so that nothing here counts itself.
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <termios.h>
#include <unistd.h>

/* The page that is shared with the test; disk.rs reads and writes the same words. */
struct control {
    uint64_t calls;   /* counted so far, those of the classes in `classes` alone */
    uint64_t fail_at; /* the call that fails, counted from 1; 0: none */
    uint64_t for_good;
    uint64_t error;   /* the errno; SHORT: a write stores half of what it was given, and says so */
    uint64_t classes; /* bits of enum class */
    uint64_t met;     /* calls that were made to fail */
    uint64_t met_class;
    uint64_t die_at;  /* the call before which the process is gone, of all calls below FAULTS_UNDER; 0: none */
    uint64_t all;     /* all calls below FAULTS_UNDER that were made so far */
    uint64_t journal; /* bytes in the journal */
    uint64_t again;   /* the call after `fail_at`, counted from it, that fails too; 0: none */
    uint64_t again_for_good;
    uint64_t again_error;
};
enum { SHORT = 100000 };

enum class {
    OPEN = 1, MAKE = 2, READ = 4, WRITE = 8, SYNC = 16, NAME = 32, LENGTH = 64, RIGHTS = 128,
    OPEN_TO_WRITE = 4096,
    PORT_OPEN = 256, PORT_READ = 512, PORT_WRITE = 1024, PORT_SET = 2048,
};
enum kind { NOTHING, FILE_BELOW, DIRECTORY, SHARED_MEMORY, PORT };
/* What the journal says; powercut.rs reads it. */
enum entry { CREATED = 1, WRITTEN, CUT, SYNCED, SYNCED_DIRECTORY, RENAMED, UNLINKED, LINKED, MADE_DIRECTORY };

#define MOST_FDS 4096
static struct { enum kind kind; uint64_t inode; char path[256]; } fds[MOST_FDS];

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static struct control *control;
static char under[PATH_MAX], port[PATH_MAX];
static int journal = -1;

#define NEXT(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))

__attribute__((constructor)) static void begin(void) {
    const char *at = getenv("FAULTS_CONTROL"), *below = getenv("FAULTS_UNDER");
    if (!at || !below || !realpath(below, under)) return;
    if (getenv("FAULTS_PORT")) strncpy(port, getenv("FAULTS_PORT"), sizeof port - 1);
    int fd = syscall(SYS_openat, AT_FDCWD, at, O_RDWR | O_CLOEXEC);
    if (fd < 0) _exit(99);
    void *page = mmap(NULL, 4096, PROT_READ | PROT_WRITE, MAP_SHARED, fd, 0);
    if (page == MAP_FAILED) _exit(99);
    syscall(SYS_close, fd);
    const char *to = getenv("FAULTS_JOURNAL");
    if (to) {
        journal = syscall(SYS_openat, AT_FDCWD, to, O_WRONLY | O_CREAT | O_APPEND | O_CLOEXEC, 0600);
        if (journal < 0) _exit(99);
    }
    control = page;
}

/* The path below `under`, or NULL: names are not followed, the program names its files by whole paths. */
static const char *below(const char *path) {
    size_t n = strlen(under);
    if (!control || !path) return NULL;
    if (strncmp(path, under, n) != 0 || (path[n] != '/' && path[n] != 0)) return NULL;
    return path[n] ? path + n + 1 : "";
}

static int ends(const char *text, const char *end) {
    size_t n = strlen(text), m = strlen(end);
    return n >= m && strcmp(text + n - m, end) == 0;
}

/* Whether this call is the one: 0, an errno, or SHORT. */
static int ask(enum class class) {
    if (!control) return 0;
    pthread_mutex_lock(&lock);
    if (!(class & (PORT_OPEN | PORT_READ | PORT_WRITE | PORT_SET)) && ++control->all == control->die_at) _exit(137);
    int error = 0;
    if (control->classes & class) {
        uint64_t n = ++control->calls;
        uint64_t at = control->fail_at, then = at + control->again;
        if (at && (n == at || (control->for_good && n > at))) error = control->error;
        if (at && then > at && (n == then || (control->again_for_good && n > then))) error = control->again_error;
        if (error) {
            control->met++;
            control->met_class = class;
        }
    }
    pthread_mutex_unlock(&lock);
    return error;
}

#define FAIL_OR(class) \
    do { int error = ask(class); if (error) { errno = error == SHORT ? EIO : error; return -1; } } while (0)

static void tell(enum entry entry, uint64_t inode, uint64_t at, const char *a, size_t n, const char *b, size_t m) {
    if (journal < 0) return;
    uint64_t head[5] = { entry, inode, at, n, m };
    struct iovec parts[3] = { { head, sizeof head }, { (void *)a, n }, { (void *)b, m } };
    pthread_mutex_lock(&lock);
    if (syscall(SYS_writev, journal, parts, 3) != (long)(sizeof head + n + m)) _exit(99);
    control->journal += sizeof head + n + m;
    pthread_mutex_unlock(&lock);
}

static uint64_t inode_of(int fd) {
    struct stat found;
    return fstat(fd, &found) == 0 ? found.st_ino : 0;
}

static enum kind kind_of(int fd) { return fd >= 0 && fd < MOST_FDS ? fds[fd].kind : NOTHING; }
static int is_kept(int fd) { return kind_of(fd) == FILE_BELOW; }

static int opened(int fd, const char *name, int flags, int is_new) {
    if (fd < 0 || fd >= MOST_FDS) return fd;
    fds[fd].kind = ends(name, "-shm") ? SHARED_MEMORY : FILE_BELOW;
    struct stat found;
    if (fstat(fd, &found) == 0 && S_ISDIR(found.st_mode)) fds[fd].kind = DIRECTORY;
    fds[fd].inode = inode_of(fd);
    strncpy(fds[fd].path, name, sizeof fds[fd].path - 1);
    if (fds[fd].kind == FILE_BELOW && is_new) tell(CREATED, fds[fd].inode, 0, name, strlen(name), NULL, 0);
    if (fds[fd].kind == FILE_BELOW && (flags & O_TRUNC)) tell(CUT, fds[fd].inode, 0, NULL, 0, NULL, 0);
    return fd;
}

static int open_by(int (*next)(const char *, int, ...), const char *path, int flags, mode_t mode) {
    const char *name = below(path);
    if (control && port[0] && path && strcmp(path, port) == 0) {
        FAIL_OR(PORT_OPEN);
        int fd = next(path, flags, mode);
        if (fd >= 0 && fd < MOST_FDS) fds[fd].kind = PORT;
        return fd;
    }
    if (!name) {
        int fd = next(path, flags, mode);
        if (fd >= 0 && fd < MOST_FDS) fds[fd].kind = NOTHING;
        return fd;
    }
    int is_new = (flags & O_CREAT) && faccessat(AT_FDCWD, path, F_OK, 0) != 0;
    /* A read-only or full file system refuses new files, and a read-only one every opening to write. */
    FAIL_OR(is_new ? MAKE : (flags & O_ACCMODE) == O_RDONLY ? OPEN : OPEN_TO_WRITE);
    return opened(next(path, flags, mode), name, flags, is_new);
}

#define OPENER(name)                                            \
    int name(const char *path, int flags, ...) {                \
        va_list rest;                                           \
        va_start(rest, flags);                                  \
        mode_t mode = flags & (O_CREAT | O_TMPFILE) ? va_arg(rest, mode_t) : 0; \
        va_end(rest);                                           \
        return open_by(NEXT(name), path, flags, mode);          \
    }
OPENER(open)
OPENER(open64)

int close(int fd) {
    if (fd >= 0 && fd < MOST_FDS) fds[fd].kind = NOTHING;
    return NEXT(close)(fd);
}

ssize_t read(int fd, void *to, size_t n) {
    if (kind_of(fd) == PORT) FAIL_OR(PORT_READ);
    else if (kind_of(fd)) FAIL_OR(READ);
    return NEXT(read)(fd, to, n);
}

ssize_t pread64(int fd, void *to, size_t n, off64_t at) {
    if (kind_of(fd)) FAIL_OR(READ);
    return NEXT(pread64)(fd, to, n, at);
}

/* How much of a write is done: all, half, or none with an errno. */
static ssize_t allowed(enum class class, size_t n) {
    int error = ask(class);
    if (error == SHORT && n > 1) return n / 2;
    if (error) { errno = error == SHORT ? EIO : error; return -1; }
    return n;
}

ssize_t write(int fd, const void *from, size_t n) {
    if (kind_of(fd) == PORT) FAIL_OR(PORT_WRITE);
    if (!is_kept(fd) && kind_of(fd) != SHARED_MEMORY) return NEXT(write)(fd, from, n);
    ssize_t some = allowed(WRITE, n);
    if (some < 0) return -1;
    off_t at = fcntl(fd, F_GETFL) & O_APPEND ? lseek(fd, 0, SEEK_END) : lseek(fd, 0, SEEK_CUR);
    some = NEXT(write)(fd, from, some);
    if (some > 0 && is_kept(fd)) tell(WRITTEN, fds[fd].inode, at, NULL, 0, from, some);
    return some;
}

ssize_t pwrite64(int fd, const void *from, size_t n, off64_t at) {
    if (!kind_of(fd)) return NEXT(pwrite64)(fd, from, n, at);
    ssize_t some = allowed(WRITE, n);
    if (some < 0) return -1;
    some = NEXT(pwrite64)(fd, from, some, at);
    if (some > 0 && is_kept(fd)) tell(WRITTEN, fds[fd].inode, at, NULL, 0, from, some);
    return some;
}

int fsync(int fd) {
    if (!kind_of(fd)) return NEXT(fsync)(fd);
    FAIL_OR(SYNC);
    int done = NEXT(fsync)(fd);
    if (done == 0 && is_kept(fd)) tell(SYNCED, fds[fd].inode, 0, NULL, 0, NULL, 0);
    if (done == 0 && kind_of(fd) == DIRECTORY)
        tell(SYNCED_DIRECTORY, 0, 0, fds[fd].path, strlen(fds[fd].path), NULL, 0);
    return done;
}

int fdatasync(int fd) { return fsync(fd); }

int ftruncate64(int fd, off64_t length) {
    if (!kind_of(fd)) return NEXT(ftruncate64)(fd, length);
    FAIL_OR(LENGTH);
    int done = NEXT(ftruncate64)(fd, length);
    if (done == 0 && is_kept(fd)) tell(CUT, fds[fd].inode, length, NULL, 0, NULL, 0);
    return done;
}
int ftruncate(int fd, off_t length) { return ftruncate64(fd, length); }

int rename(const char *from, const char *to) {
    const char *a = below(from), *b = below(to);
    if (!a || !b) return NEXT(rename)(from, to);
    FAIL_OR(NAME);
    int done = NEXT(rename)(from, to);
    if (done == 0) tell(RENAMED, 0, 0, a, strlen(a), b, strlen(b));
    return done;
}

int linkat(int d, const char *from, int e, const char *to, int flags) {
    const char *a = below(from), *b = below(to);
    if (!a || !b) return NEXT(linkat)(d, from, e, to, flags);
    FAIL_OR(NAME);
    int done = NEXT(linkat)(d, from, e, to, flags);
    if (done == 0) tell(LINKED, 0, 0, a, strlen(a), b, strlen(b));
    return done;
}

int unlink(const char *path) {
    const char *name = below(path);
    if (!name) return NEXT(unlink)(path);
    FAIL_OR(NAME);
    int done = NEXT(unlink)(path);
    if (done == 0 && !ends(name, "-shm")) tell(UNLINKED, 0, 0, name, strlen(name), NULL, 0);
    return done;
}

int mkdir(const char *path, mode_t mode) {
    const char *name = below(path);
    if (!name) return NEXT(mkdir)(path, mode);
    FAIL_OR(MAKE);
    int done = NEXT(mkdir)(path, mode);
    if (done == 0) tell(MADE_DIRECTORY, 0, 0, name, strlen(name), NULL, 0);
    return done;
}

int fchmod(int fd, mode_t mode) {
    if (is_kept(fd)) FAIL_OR(RIGHTS);
    return NEXT(fchmod)(fd, mode);
}

/* The port's settings. */
int ioctl(int fd, unsigned long request, ...) {
    va_list rest;
    va_start(rest, request);
    void *argument = va_arg(rest, void *);
    va_end(rest);
    if (kind_of(fd) == PORT) FAIL_OR(PORT_SET);
    return NEXT(ioctl)(fd, request, argument);
}

int tcsetattr(int fd, int when, const struct termios *to) {
    if (kind_of(fd) == PORT) FAIL_OR(PORT_SET);
    return NEXT(tcsetattr)(fd, when, to);
}

int tcgetattr(int fd, struct termios *to) {
    if (kind_of(fd) == PORT) FAIL_OR(PORT_SET);
    return NEXT(tcgetattr)(fd, to);
}

int tcflush(int fd, int which) {
    if (kind_of(fd) == PORT) FAIL_OR(PORT_SET);
    return NEXT(tcflush)(fd, which);
}
