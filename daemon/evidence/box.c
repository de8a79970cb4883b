/* box.c - see box.h. */
#include "evidence/box.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/log.h"
#include "evidence/box_private.h"

/* No file of a bundle comes near it; a larger one must not take the machine's memory. */
static const off_t file_most = 64 << 20;

enum rc box_add(struct box *box, const char *name, const struct box_item *item)
{
    if (box->count == box->cap) {
        size_t cap = box->cap == 0 ? 256 : 2 * box->cap;
        struct box_item *more = realloc(box->items, cap * sizeof *more);
        if (more == NULL)
            return RC_NOMEM;
        box->items = more;
        box->cap = cap;
    }
    char *copy = strdup(name);
    if (copy == NULL)
        return RC_NOMEM;
    box->items[box->count] = *item;
    box->items[box->count++].name = copy;
    return RC_OK;
}

static int by_name(const void *a, const void *b)
{
    const struct box_item *x = a, *y = b;
    return strcmp(x->name, y->name);
}

static enum rc map_tar(struct box *box, int fd, off_t size)
{
    if (size == 0)
        return RC_OK;
    void *map = mmap(NULL, (size_t)size, PROT_READ, MAP_PRIVATE, fd, 0);
    if (map == MAP_FAILED)
        return RC_NOMEM;
    box->map = map;
    box->map_len = (size_t)size;
    return RC_OK;
}

static enum rc fill(struct box *box, struct findings *findings)
{
    struct stat st;
    int fd = open(box->path, O_RDONLY | O_NONBLOCK | O_CLOEXEC);
    if (fd < 0 || fstat(fd, &st) != 0) {
        enum rc rc = errno == ENOENT ? RC_NOT_FOUND : RC_IO;
        log_err("cannot read %s: %s", box->path, strerror(errno));
        if (fd >= 0)
            close(fd);
        return rc;
    }
    enum rc rc = RC_OK;
    if (S_ISDIR(st.st_mode)) {
        rc = box_fill_from_folder(box);
    } else if (S_ISREG(st.st_mode)) {
        rc = map_tar(box, fd, st.st_size);
        if (rc == RC_OK)
            rc = box_fill_from_tar(box, findings);
    } else {
        log_err("%s is neither a folder nor a .tar", box->path);
        rc = RC_BAD_INPUT;
    }
    close(fd);
    return rc;
}

enum rc box_open(const char *path, struct findings *findings, struct box **out)
{
    struct box *box = calloc(1, sizeof *box);
    if (box == NULL)
        return RC_NOMEM;
    box->path = strdup(path);
    enum rc rc = box->path == NULL ? RC_NOMEM : fill(box, findings);
    if (rc != RC_OK) {
        box_close(box);
        return rc;
    }
    if (box->count > 1)
        qsort(box->items, box->count, sizeof *box->items, by_name);
    for (size_t i = 1; i < box->count; i++)
        if (strcmp(box->items[i - 1].name, box->items[i].name) == 0)
            findings_add(findings, FINDING_FORM, "", box->items[i].name,
                         "the tar has two files of this name");
    *out = box;
    return RC_OK;
}

void box_close(struct box *box)
{
    if (box == NULL)
        return;
    for (size_t i = 0; i < box->count; i++)
        free(box->items[i].name);
    free(box->items);
    if (box->map != NULL)
        munmap(box->map, box->map_len);
    free(box->path);
    free(box);
}

size_t box_count(const struct box *box)
{
    return box->count;
}

const char *box_name(const struct box *box, size_t i)
{
    return box->items[i].name;
}

static int name_to_item(const void *name, const void *item)
{
    return strcmp(name, ((const struct box_item *)item)->name);
}

static const struct box_item *find(const struct box *box, const char *name)
{
    if (box->count == 0)
        return NULL;
    return bsearch(name, box->items, box->count, sizeof *box->items, name_to_item);
}

bool box_has(const struct box *box, const char *name)
{
    return find(box, name) != NULL;
}

size_t box_index(const struct box *box, const char *name)
{
    const struct box_item *item = find(box, name);
    return item == NULL ? box->count : (size_t)(item - box->items);
}

/* All of an open file, if it is a regular one and not too large. */
static enum rc read_all(int fd, struct buf *out)
{
    struct stat st;
    if (fstat(fd, &st) != 0 || !S_ISREG(st.st_mode) || st.st_size > file_most)
        return RC_CORRUPT;
    for (;;) {
        char piece[16384];
        ssize_t n = read(fd, piece, sizeof piece);
        if (n < 0 || out->len > (size_t)file_most)
            return RC_CORRUPT;
        if (n == 0)
            return out->failed ? RC_NOMEM : RC_OK;
        buf_add(out, piece, (size_t)n);
    }
}

static enum rc read_file(const struct box *box, const char *name, struct buf *out)
{
    struct buf path = {0};
    buf_printf(&path, "%s/%s", box->path, name);
    if (path.failed)
        return RC_NOMEM;
    int fd = open(path.data, O_RDONLY | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC);
    buf_free(&path);
    if (fd < 0)
        return RC_CORRUPT;
    enum rc rc = read_all(fd, out);
    close(fd);
    return rc;
}

enum rc box_read(const struct box *box, const char *name, struct buf *out)
{
    const struct box_item *item = find(box, name);
    buf_clear(out);
    if (item == NULL)
        return RC_NOT_FOUND;
    if (item->odd)
        return RC_CORRUPT;
    if (item->data == NULL)
        return read_file(box, name, out);
    if (item->len > (size_t)file_most)
        return RC_CORRUPT;
    buf_add(out, item->data, item->len);
    return out->failed ? RC_NOMEM : RC_OK;
}
