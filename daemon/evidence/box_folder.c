/* box_folder.c - what a folder holds, to a depth of one folder more (box.h). */
#include <dirent.h>
#include <errno.h>
#include <string.h>
#include <sys/stat.h>

#include "base/log.h"
#include "evidence/box_private.h"

/* Adds one entry of the folder `path`; `*out_deeper` if it is a folder that may be looked into. */
static enum rc add_entry(struct box *box, const struct buf *path, const char *within,
                         const char *entry, bool *out_deeper)
{
    struct buf whole = {0}, name = {0};
    struct stat st;
    buf_printf(&whole, "%s/%s", path->data, entry);
    buf_printf(&name, "%s%s", within, entry);
    enum rc rc = whole.failed || name.failed ? RC_NOMEM : RC_OK;
    bool seen = rc == RC_OK && lstat(whole.data, &st) == 0;
    *out_deeper = seen && S_ISDIR(st.st_mode) && within[0] == '\0';
    if (rc == RC_OK && !*out_deeper) {
        if (seen && S_ISDIR(st.st_mode))
            buf_str(&name, "/");
        const struct box_item item = {.odd = !seen || !S_ISREG(st.st_mode)};
        rc = name.failed ? RC_NOMEM : box_add(box, name.data, &item);
    }
    buf_free(&whole);
    buf_free(&name);
    return rc;
}

/* `within` is "" for the bundle itself, else "NAME/" of the folder in it. */
static enum rc walk(struct box *box, const char *within)
{
    struct buf path = {0}, inner = {0};
    buf_printf(&path, "%s/%s", box->path, within);
    DIR *dir = path.failed ? NULL : opendir(path.data);
    enum rc rc = RC_OK;
    if (dir == NULL) {
        log_err("cannot read the folder %s: %s", path.failed ? within : path.data,
                strerror(errno));
        rc = path.failed ? RC_NOMEM : RC_IO;
    }
    for (struct dirent *e; rc == RC_OK && (e = readdir(dir)) != NULL;) {
        bool deeper;
        if (strcmp(e->d_name, ".") == 0 || strcmp(e->d_name, "..") == 0)
            continue;
        rc = add_entry(box, &path, within, e->d_name, &deeper);
        if (rc != RC_OK || !deeper)
            continue;
        buf_clear(&inner);
        buf_printf(&inner, "%s/", e->d_name);
        rc = inner.failed ? RC_NOMEM : walk(box, inner.data); /* once: `within` is set then */
    }
    if (dir != NULL)
        closedir(dir);
    buf_free(&path);
    buf_free(&inner);
    return rc;
}

enum rc box_fill_from_folder(struct box *box)
{
    return walk(box, "");
}
