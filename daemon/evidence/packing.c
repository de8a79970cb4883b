/* packing.c - see packing.h. */
#define _GNU_SOURCE /* syncfs */
#include "evidence/packing.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/buf.h"
#include "base/log.h"
#include "base/seal.h"
#include "evidence/manifest.h"
#include "evidence/sign.h"
#include "evidence/ustar.h"

struct packing {
    char *path;      /* owned; where it ends up */
    struct buf part; /* where it is written */
    struct buf sums; /* SHA256SUMS; the names in it are what packing_free removes */
    char top[64];    /* of a tar: the folder its members lie in, with a '/' */
    int tar;         /* descriptor; -1: a folder */
    int64_t mtime_s;
    bool done;
};

static enum rc refuse(const char *path)
{
    log_err("cannot write %s: %s", path, strerror(errno));
    return errno == ENOSPC || errno == EDQUOT ? RC_FULL
           : errno == ENOMEM                  ? RC_NOMEM
                                              : RC_READ_ONLY;
}

static enum rc begin_tar(struct packing *p)
{
    const char *slash = strrchr(p->path, '/');
    const char *base = slash == NULL ? p->path : slash + 1;
    size_t len = strlen(base) - strlen(".tar");
    if (len == 0 || len + 2 > sizeof p->top) {
        log_err("%s: the name before .tar must have 1 to %zu characters", p->path,
                sizeof p->top - 2);
        return RC_BAD_INPUT;
    }
    snprintf(p->top, sizeof p->top, "%.*s/", (int)len, base);
    p->tar = open(p->part.data, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0644);
    return p->tar < 0 ? refuse(p->part.data) : RC_OK;
}

enum rc packing_begin(const char *path, int64_t mtime_s, struct packing **out)
{
    struct packing *p = calloc(1, sizeof *p);
    if (p == NULL)
        return RC_NOMEM;
    p->tar = -1;
    p->mtime_s = mtime_s;
    p->path = strdup(path);
    size_t len = strlen(path);
    while (p->path != NULL && len > 1 && p->path[len - 1] == '/')
        p->path[--len] = '\0';
    if (p->path != NULL)
        buf_printf(&p->part, "%s.part", p->path);
    enum rc rc = p->path == NULL || p->part.failed ? RC_NOMEM : RC_OK;
    if (rc == RC_OK && (access(p->path, F_OK) == 0 || access(p->part.data, F_OK) == 0)) {
        log_err("%s exists already; name one that does not",
                access(p->path, F_OK) == 0 ? p->path : p->part.data);
        p->done = true; /* nothing of it is ours to remove */
        rc = RC_CONFLICT;
    }
    bool tar = len > 4 && p->path != NULL && strcmp(p->path + len - 4, ".tar") == 0;
    if (rc == RC_OK && tar)
        rc = begin_tar(p);
    else if (rc == RC_OK && mkdir(p->part.data, 0755) != 0)
        rc = refuse(p->part.data);
    if (rc != RC_OK) {
        packing_free(p);
        return rc;
    }
    *out = p;
    return RC_OK;
}

static bool write_all(int fd, const void *data, size_t len)
{
    const char *at = data;
    while (len > 0) {
        ssize_t n = write(fd, at, len);
        if (n < 0 && errno == EINTR)
            continue;
        if (n <= 0)
            return false;
        at += n;
        len -= (size_t)n;
    }
    return true;
}

static enum rc add_to_tar(struct packing *p, const char *name, const void *data, size_t len)
{
    static const uint8_t zeros[USTAR_BLOCK];
    uint8_t header[USTAR_BLOCK];
    char member[sizeof p->top + MANIFEST_NAME];
    snprintf(member, sizeof member, "%s%s", p->top, name);
    if (!ustar_write(member, len, p->mtime_s, header)) {
        log_err("%s: too long a name for a tar", member);
        return RC_BAD_INPUT;
    }
    size_t over = (USTAR_BLOCK - len % USTAR_BLOCK) % USTAR_BLOCK;
    bool ok = write_all(p->tar, header, sizeof header) && write_all(p->tar, data, len) &&
              write_all(p->tar, zeros, over);
    return ok ? RC_OK : refuse(p->part.data);
}

static enum rc write_file(const char *path, const void *data, size_t len)
{
    int fd = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0644);
    if (fd < 0)
        return refuse(path);
    enum rc rc = write_all(fd, data, len) ? RC_OK : refuse(path);
    close(fd);
    return rc;
}

static enum rc add_to_folder(struct packing *p, const char *name, const void *data, size_t len)
{
    struct buf path = {0};
    const char *slash = strchr(name, '/');
    enum rc rc = RC_OK;
    if (slash != NULL) {
        buf_printf(&path, "%s/%.*s", p->part.data, (int)(slash - name), name);
        if (!path.failed && mkdir(path.data, 0755) != 0 && errno != EEXIST)
            rc = refuse(path.data);
        buf_clear(&path);
    }
    buf_printf(&path, "%s/%s", p->part.data, name);
    if (rc == RC_OK)
        rc = path.failed ? RC_NOMEM : write_file(path.data, data, len);
    buf_free(&path);
    return rc;
}

enum rc packing_add(struct packing *p, const char *name, const void *data, size_t len)
{
    uint8_t digest[SEAL_DIGEST];
    seal_sha256(data, len, digest);
    sign_manifest_line(&p->sums, digest, name);
    if (p->sums.failed)
        return RC_NOMEM;
    return p->tar >= 0 ? add_to_tar(p, name, data, len) : add_to_folder(p, name, data, len);
}

/* All at once: a sync for each of a year's thousands of files takes minutes on a card. */
static enum rc sync_folder(struct packing *p)
{
    int fd = open(p->part.data, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    enum rc rc = fd >= 0 && syncfs(fd) == 0 ? RC_OK : refuse(p->part.data);
    if (fd >= 0)
        close(fd);
    return rc;
}

enum rc packing_end(struct packing *p)
{
    static const uint8_t zeros[2 * USTAR_BLOCK];
    enum rc rc = p->tar >= 0 ? add_to_tar(p, "SHA256SUMS", p->sums.data, p->sums.len)
                             : add_to_folder(p, "SHA256SUMS", p->sums.data, p->sums.len);
    if (rc == RC_OK && p->tar >= 0 &&
        (!write_all(p->tar, zeros, sizeof zeros) || fsync(p->tar) != 0))
        rc = refuse(p->part.data);
    if (rc == RC_OK && p->tar < 0)
        rc = sync_folder(p);
    if (rc == RC_OK && rename(p->part.data, p->path) != 0)
        rc = refuse(p->path);
    p->done = rc == RC_OK;
    return rc;
}

/* Removes the files that were added, then the folders, which are empty unless somebody else
 * put something there. */
static void drop_folder(struct packing *p)
{
    struct manifest_cursor c = manifest_start(&p->sums);
    struct manifest_line line;
    struct buf path = {0};
    while (manifest_next(&c, &line)) {
        buf_clear(&path);
        buf_printf(&path, "%s/%s", p->part.data, line.name);
        unlink(path.data);
        *strrchr(path.data, '/') = '\0';
        rmdir(path.data);
    }
    buf_clear(&path);
    buf_printf(&path, "%s/SHA256SUMS", p->part.data);
    if (!path.failed)
        unlink(path.data);
    buf_free(&path);
    rmdir(p->part.data);
}

void packing_free(struct packing *p)
{
    if (p == NULL)
        return;
    if (!p->done && p->part.data != NULL && p->tar >= 0)
        unlink(p->part.data);
    else if (!p->done && p->part.data != NULL)
        drop_folder(p);
    if (p->tar >= 0)
        close(p->tar);
    buf_free(&p->part);
    buf_free(&p->sums);
    free(p->path);
    free(p);
}
