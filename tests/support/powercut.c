/* powercut.c - see powercut.h.
 *
 * Each write goes to the real file at once, so that SQLite reads what it wrote, and is kept as
 * pending; a sync moves what is pending into the durable image. After a cut the real files are
 * written anew from the image and a random part of what was pending: a write may have arrived
 * whole, up to some sector, or not at all, whatever came after it.
 */
#include "support/powercut.h"

#include <fcntl.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    FILES = 8,
    SECTOR = 512
};

struct image {
    unsigned char *data; /* owned */
    size_t len, cap;
};

struct pending {
    struct pending *next;
    int64_t at;
    size_t len;
    bool truncation; /* to `at` */
    unsigned char data[];
};

/* A path, over all connections that have it open. */
struct disk {
    char path[256];
    struct image durable;
    struct pending *first, **last;
    bool synced; /* it ever was: else its very name may be lost */
};

struct file {
    sqlite3_file base;
    struct disk *disk; /* NULL: shared memory and temporary files are let through */
    sqlite3_file *real;
};

/* A file layer has no place for its own state but the file scope. */
static struct {
    sqlite3_vfs vfs, *real;
    sqlite3_io_methods methods;
    struct disk disks[FILES];
    enum powercut_fault fault;
    int64_t at, count;
    bool for_ever, struck;
} cut;

/* A test that cannot go on ends here; assert() may be compiled out. */
static void must(bool so)
{
    if (!so)
        abort();
}

static void image_write(struct image *image, int64_t at, const void *data, size_t len)
{
    size_t end = (size_t)at + len;
    if (end > image->cap) {
        image->cap = 2 * end;
        image->data = realloc(image->data, image->cap);
        must(image->data != NULL);
    }
    if (end > image->len) {
        memset(image->data + image->len, 0, end - image->len);
        image->len = end;
    }
    memcpy(image->data + at, data, len);
}

static void apply(struct image *image, const struct pending *p, size_t len)
{
    if (!p->truncation)
        image_write(image, p->at, p->data, len);
    else if ((size_t)p->at < image->len)
        image->len = (size_t)p->at;
}

static void pending_free(struct disk *disk)
{
    while (disk->first != NULL) {
        struct pending *next = disk->first->next;
        free(disk->first);
        disk->first = next;
    }
    disk->last = &disk->first;
}

static void remember(struct disk *disk, int64_t at, const void *data, size_t len,
                     bool truncation)
{
    struct pending *p = malloc(sizeof *p + len);
    must(p != NULL);
    *p = (struct pending){.at = at, .len = len, .truncation = truncation};
    if (len > 0)
        memcpy(p->data, data, len);
    *disk->last = p;
    disk->last = &p->next;
}

static void disk_forget(struct disk *disk)
{
    if (disk->path[0] != '\0')
        pending_free(disk);
    free(disk->durable.data);
    *disk = (struct disk){.last = NULL};
}

static struct disk *disk_find(const char *path)
{
    for (int i = 0; i < FILES; i++)
        if (strcmp(cut.disks[i].path, path) == 0)
            return &cut.disks[i];
    return NULL;
}

/* A file that was there before is as it is. */
static struct disk *disk_of(const char *path)
{
    struct disk *disk = disk_find(path);
    if (disk != NULL)
        return disk;
    disk = disk_find("");
    if (disk == NULL || strlen(path) >= sizeof disk->path)
        abort();
    *disk = (struct disk){.last = NULL};
    snprintf(disk->path, sizeof disk->path, "%s", path);
    disk->last = &disk->first;
    FILE *f = fopen(path, "rb");
    if (f == NULL)
        return disk;
    unsigned char block[4096];
    for (size_t n; (n = fread(block, 1, sizeof block, f)) > 0;)
        image_write(&disk->durable, (int64_t)disk->durable.len, block, n);
    fclose(f);
    disk->synced = disk->durable.len > 0;
    return disk;
}

/* Counts an operation; SQLITE_OK if it may go on. */
static int operation(void)
{
    int64_t number = cut.count++;
    if (cut.fault == POWERCUT_NOTHING)
        return SQLITE_OK;
    bool hit = number == cut.at;
    bool lasts = cut.for_ever || cut.fault == POWERCUT_POWER;
    if (!hit && !(cut.struck && lasts))
        return SQLITE_OK;
    if (cut.fault == POWERCUT_KILL)
        kill(getpid(), SIGKILL);
    cut.struck = true;
    return cut.fault == POWERCUT_FULL ? SQLITE_FULL : SQLITE_IOERR_WRITE;
}

static struct file *file_of(sqlite3_file *f)
{
    return (struct file *)f;
}

static int on_close(sqlite3_file *f)
{
    sqlite3_file *real = file_of(f)->real;
    int code = real->pMethods != NULL ? real->pMethods->xClose(real) : SQLITE_OK;
    sqlite3_free(real);
    file_of(f)->real = NULL;
    return code;
}

static int on_read(sqlite3_file *f, void *data, int len, sqlite3_int64 at)
{
    return file_of(f)->real->pMethods->xRead(file_of(f)->real, data, len, at);
}

static int on_write(sqlite3_file *f, const void *data, int len, sqlite3_int64 at)
{
    struct file *file = file_of(f);
    int code = file->disk == NULL ? SQLITE_OK : operation();
    /* The write during which the power goes may still arrive in part. */
    bool last = cut.fault == POWERCUT_POWER && cut.count == cut.at + 1;
    if (file->disk != NULL && (code == SQLITE_OK || last))
        remember(file->disk, at, data, (size_t)len, false);
    return code != SQLITE_OK ? code : file->real->pMethods->xWrite(file->real, data, len, at);
}

static int on_truncate(sqlite3_file *f, sqlite3_int64 size)
{
    struct file *file = file_of(f);
    int code = file->disk == NULL ? SQLITE_OK : operation();
    if (code != SQLITE_OK)
        return code;
    if (file->disk != NULL)
        remember(file->disk, size, NULL, 0, true);
    return file->real->pMethods->xTruncate(file->real, size);
}

/* The real disk is not asked to sync: only what we remember counts. */
static int on_sync(sqlite3_file *f, int flags)
{
    (void)flags;
    struct disk *disk = file_of(f)->disk;
    if (disk == NULL)
        return SQLITE_OK;
    int code = operation();
    if (code != SQLITE_OK)
        return code == SQLITE_FULL ? SQLITE_IOERR_FSYNC : code;
    for (const struct pending *p = disk->first; p != NULL; p = p->next)
        apply(&disk->durable, p, p->len);
    pending_free(disk);
    disk->synced = true;
    return SQLITE_OK;
}

static int on_size(sqlite3_file *f, sqlite3_int64 *out)
{
    return file_of(f)->real->pMethods->xFileSize(file_of(f)->real, out);
}

static int on_lock(sqlite3_file *f, int kind)
{
    return file_of(f)->real->pMethods->xLock(file_of(f)->real, kind);
}

static int on_unlock(sqlite3_file *f, int kind)
{
    return file_of(f)->real->pMethods->xUnlock(file_of(f)->real, kind);
}

static int on_reserved(sqlite3_file *f, int *out)
{
    return file_of(f)->real->pMethods->xCheckReservedLock(file_of(f)->real, out);
}

static int on_control(sqlite3_file *f, int op, void *arg)
{
    return file_of(f)->real->pMethods->xFileControl(file_of(f)->real, op, arg);
}

static int on_sector(sqlite3_file *f)
{
    (void)f;
    return SECTOR;
}

/* Promises nothing: neither whole sectors nor any order. */
static int on_device(sqlite3_file *f)
{
    (void)f;
    return 0;
}

static int on_shm_map(sqlite3_file *f, int page, int size, int extend, void volatile **out)
{
    return file_of(f)->real->pMethods->xShmMap(file_of(f)->real, page, size, extend, out);
}

static int on_shm_lock(sqlite3_file *f, int offset, int n, int flags)
{
    return file_of(f)->real->pMethods->xShmLock(file_of(f)->real, offset, n, flags);
}

static void on_shm_barrier(sqlite3_file *f)
{
    file_of(f)->real->pMethods->xShmBarrier(file_of(f)->real);
}

static int on_shm_unmap(sqlite3_file *f, int remove)
{
    return file_of(f)->real->pMethods->xShmUnmap(file_of(f)->real, remove);
}

static int on_open(sqlite3_vfs *vfs, const char *path, sqlite3_file *f, int flags,
                   int *out_flags)
{
    (void)vfs;
    struct file *file = file_of(f);
    *file = (struct file){.real = sqlite3_malloc(cut.real->szOsFile)};
    if (file->real == NULL)
        return SQLITE_NOMEM;
    memset(file->real, 0, (size_t)cut.real->szOsFile);
    int watched = SQLITE_OPEN_MAIN_DB | SQLITE_OPEN_WAL | SQLITE_OPEN_MAIN_JOURNAL;
    if (path != NULL && (flags & watched) != 0)
        file->disk = disk_of(path);
    int code = cut.real->xOpen(cut.real, path, file->real, flags, out_flags);
    if (code != SQLITE_OK) {
        on_close(f);
        return code;
    }
    f->pMethods = &cut.methods;
    return SQLITE_OK;
}

/* A deletion reaches the disk at once, unless the power is gone. */
static int on_delete(sqlite3_vfs *vfs, const char *path, int sync)
{
    (void)vfs;
    if (cut.struck && cut.fault == POWERCUT_POWER)
        return SQLITE_IOERR_DELETE;
    struct disk *disk = disk_find(path);
    if (disk != NULL)
        disk_forget(disk);
    return cut.real->xDelete(cut.real, path, sync);
}

void powercut_install(void)
{
    cut.real = sqlite3_vfs_find(NULL);
    cut.vfs = *cut.real;
    cut.vfs.zName = "powercut";
    cut.vfs.pNext = NULL;
    cut.vfs.szOsFile = (int)sizeof(struct file);
    cut.vfs.xOpen = on_open;
    cut.vfs.xDelete = on_delete;
    cut.methods = (sqlite3_io_methods){.iVersion = 2,
                                       .xClose = on_close,
                                       .xRead = on_read,
                                       .xWrite = on_write,
                                       .xTruncate = on_truncate,
                                       .xSync = on_sync,
                                       .xFileSize = on_size,
                                       .xLock = on_lock,
                                       .xUnlock = on_unlock,
                                       .xCheckReservedLock = on_reserved,
                                       .xFileControl = on_control,
                                       .xSectorSize = on_sector,
                                       .xDeviceCharacteristics = on_device,
                                       .xShmMap = on_shm_map,
                                       .xShmLock = on_shm_lock,
                                       .xShmBarrier = on_shm_barrier,
                                       .xShmUnmap = on_shm_unmap};
    int code = sqlite3_vfs_register(&cut.vfs, 1);
    must(code == SQLITE_OK);
}

void powercut_forget(void)
{
    for (int i = 0; i < FILES; i++)
        disk_forget(&cut.disks[i]);
}

void powercut_arm(enum powercut_fault fault, int64_t at, bool for_ever)
{
    cut.fault = fault;
    cut.at = at;
    cut.for_ever = for_ever;
    cut.struck = false;
    cut.count = 0;
}

void powercut_mend(void)
{
    cut.fault = POWERCUT_NOTHING;
}

int64_t powercut_count(void)
{
    return cut.count;
}

bool powercut_struck(void)
{
    return cut.struck;
}

/* xorshift64*: Vigna (2016), "An experimental exploration of Marsaglia's xorshift generators". */
static uint64_t chance(uint64_t *state)
{
    *state ^= *state >> 12;
    *state ^= *state << 25;
    *state ^= *state >> 27;
    return *state * 2685821657736338717U >> 16;
}

static void leave_file(struct disk *disk, uint64_t *state)
{
    /* Some cuts lose all that was not synced, some nearly nothing. */
    uint64_t lost_of_8 = chance(state) % 9;
    for (const struct pending *p = disk->first; p != NULL; p = p->next) {
        if (chance(state) % 8 < lost_of_8)
            continue;
        size_t sectors = p->len / SECTOR;
        bool torn = sectors > 1 && chance(state) % 8 == 0;
        apply(&disk->durable, p, torn ? SECTOR * (chance(state) % sectors) : p->len);
    }
    if (!disk->synced && disk->durable.len == 0) {
        unlink(disk->path);
        return;
    }
    int fd = open(disk->path, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0640);
    must(fd >= 0);
    size_t done = 0;
    while (done < disk->durable.len) {
        ssize_t n = write(fd, disk->durable.data + done, disk->durable.len - done);
        must(n > 0);
        done += (size_t)n;
    }
    close(fd);
}

void powercut_leave(uint64_t seed)
{
    uint64_t state = seed * 2 + 1;
    for (int i = 0; i < FILES; i++) {
        struct disk *disk = &cut.disks[i];
        if (disk->path[0] == '\0')
            continue;
        leave_file(disk, &state);
        char shm[sizeof disk->path + 8];
        snprintf(shm, sizeof shm, "%s-shm", disk->path);
        unlink(shm); /* it only ever lay in memory */
    }
    powercut_forget();
    powercut_arm(POWERCUT_NOTHING, 0, false);
}
